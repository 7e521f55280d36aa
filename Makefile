# make help lists what can be asked for. Everything is set up in .venv; nothing outside this folder changes.

PYTHON ?= python3
TANK ?= data_demo/classroom_reef
TANKS ?=
MONTH ?=
ARGS ?=
# Dask slows every import of pint, so only continuous integration adds the extra "many".
TEST_EXTRAS ?= carbonate,test

ENV := .venv/bin/python
# No network question and no notice from pip beyond the installation itself.
export PIP_DISABLE_PIP_VERSION_CHECK := 1

.PHONY: help lab test review export demo benchmarks

help:
	@echo "make lab          open the notebooks in JupyterLab"
	@echo "make review       write the page of one month: TANK=folder MONTH=2026-09"
	@echo "                  TANK is $(TANK) unless given, MONTH the last full month with readings;"
	@echo "                  TANKS=\"folder folder\" writes one page of what needs something in several tanks"
	@echo "make export       everything of TANK as one workbook, or as CSV files: OUT=file.xlsx or OUT=folder"
	@echo "make test         run every test; ARGS=\"tests/browser\" runs only those"
	@echo "make demo         make the invented demo tanks again"
	@echo "make benchmarks   measure speed and coverage (some minutes)"
	@echo "PYTHON=python3.12 chooses the Python for .venv, when it is made the first time"

lab: .venv/.ready
	JUPYTER_CONFIG_DIR=.lab $(ENV) -m jupyterlab

review: .venv/.ready
	$(ENV) -m reef_calc.show.review_command $(if $(TANKS),$(TANKS),"$(TANK)") $(if $(MONTH),"$(MONTH)")

export: .venv/.ready
	$(ENV) -m reef_calc.log.back_out "$(TANK)" "$(or $(OUT),$(notdir $(TANK)).xlsx)" $(ARGS)

demo: .venv/.ready
	$(ENV) data_demo/make_demo.py

test: .venv/.ready-test
	$(ENV) -m pytest --numprocesses 2 --dist loadfile $(ARGS)

benchmarks: .venv/.ready-test
	$(ENV) tests/benchmarks/speed.py
	$(ENV) tests/benchmarks/pages.py
	$(ENV) tests/benchmarks/import_big_files.py
	$(ENV) tests/benchmarks/coverage.py --replicates 20 $(ARGS)

.venv/bin/python:
	@"$(PYTHON)" -c "" || { echo "This needs Python 3.11 or newer, and $(PYTHON) was not found. \
	Install it, or name yours: make PYTHON=/path/to/python3"; exit 1; }
	@"$(PYTHON)" -c "import sys; sys.exit(sys.version_info < (3, 11))" || { echo "This needs Python 3.11 \
	or newer, and $(PYTHON) is $$("$(PYTHON)" --version). Name a newer one: make PYTHON=python3.12"; exit 1; }
	@"$(PYTHON)" -c "import ensurepip, venv" || { echo "This Python cannot make a virtual environment. \
	On Debian and Ubuntu: apt install python3-venv"; exit 1; }
	"$(PYTHON)" -m venv .venv

# pip is fast when nothing is missing, so a change of pyproject.toml simply installs again.
.venv/.ready: pyproject.toml | .venv/bin/python
	$(ENV) -m pip install --quiet --editable ".[carbonate]"
	@touch $@

.venv/.ready-test: pyproject.toml | .venv/bin/python
	$(ENV) -m pip install --quiet --editable ".[$(TEST_EXTRAS)]"
	@touch $@ .venv/.ready
