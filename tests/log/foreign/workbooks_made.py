"""Workbooks made part by part, also such as no spreadsheet would write."""

from __future__ import annotations

import io
import zipfile

MAIN = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
LINKS = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
PACKAGE = "http://schemas.openxmlformats.org/package/2006"
OPEN = "urn:oasis:names:tc:opendocument:xmlns"


def packed(parts: dict[str, str | bytes], compression: int = zipfile.ZIP_DEFLATED) -> bytes:
    target = io.BytesIO()
    with zipfile.ZipFile(target, "w", compression) as archive:
        for name, part in parts.items():
            stored = zipfile.ZIP_STORED if name == "mimetype" else compression
            archive.writestr(name, part, stored)
    return target.getvalue()


def xlsx_parts(rows: str, *, before: str = "", strings: str = "") -> dict[str, str | bytes]:
    """The parts of an XLSX workbook with one sheet, as the open standard ECMA-376 has them."""
    shared = (
        f'<Relationship Id="rId2" Type="{LINKS}/sharedStrings" Target="sharedStrings.xml"/>'
        if strings
        else ""
    )
    parts: dict[str, str | bytes] = {
        "[Content_Types].xml": f'<Types xmlns="{PACKAGE}/content-types">'
        '<Default Extension="xml" ContentType="application/xml"/></Types>',
        "_rels/.rels": f'<Relationships xmlns="{PACKAGE}/relationships"><Relationship Id="rId1" '
        f'Type="{LINKS}/officeDocument" Target="xl/workbook.xml"/></Relationships>',
        "xl/workbook.xml": f'<workbook xmlns="{MAIN}" xmlns:r="{LINKS}"><sheets>'
        '<sheet name="log" sheetId="1" r:id="rId1"/></sheets></workbook>',
        "xl/_rels/workbook.xml.rels": f'<Relationships xmlns="{PACKAGE}/relationships">'
        f'<Relationship Id="rId1" Type="{LINKS}/worksheet" Target="worksheets/sheet1.xml"/>'
        f"{shared}</Relationships>",
        "xl/worksheets/sheet1.xml": f'{before}<worksheet xmlns="{MAIN}"><sheetData>{rows}'
        "</sheetData></worksheet>",
    }
    if strings:
        parts["xl/sharedStrings.xml"] = f'<sst xmlns="{MAIN}">{strings}</sst>'
    return parts


def xlsx(rows: str, *, before: str = "", strings: str = "") -> bytes:
    return packed(xlsx_parts(rows, before=before, strings=strings))


def ods(table: str, before: str = "") -> bytes:
    """An ODS workbook with one sheet, as the open standard OpenDocument 1.3 has it."""
    spaces = " ".join(f'xmlns:{name}="{OPEN}:{name}:1.0"' for name in ("office", "table", "text"))
    content = (
        f'<?xml version="1.0" encoding="UTF-8"?>{before}<office:document-content {spaces}>'
        f'<office:body><office:spreadsheet><table:table table:name="log">{table}</table:table>'
        "</office:spreadsheet></office:body></office:document-content>"
    )
    return packed(
        {
            "mimetype": "application/vnd.oasis.opendocument.spreadsheet",
            "META-INF/manifest.xml": f'<manifest xmlns="{OPEN}:manifest:1.0"/>',
            "content.xml": content,
        }
    )


def ods_row(*cells: str, times: int = 1) -> str:
    repeated = f' table:number-rows-repeated="{times}"' if times > 1 else ""
    return f"<table:table-row{repeated}>{''.join(cells)}</table:table-row>"


def ods_text(text: str, attributes: str = "") -> str:
    return (
        f'<table:table-cell office:value-type="string" {attributes}>'
        f"<text:p>{text}</text:p></table:table-cell>"
    )


def ods_number(value: float) -> str:
    return (
        f'<table:table-cell office:value-type="float" office:value="{value}">'
        f"<text:p>{value}</text:p></table:table-cell>"
    )
