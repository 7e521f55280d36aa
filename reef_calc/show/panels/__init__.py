"""One panel for each notebook."""
