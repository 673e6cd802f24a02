"""What a reader of values does not tell: formulas, error cells, merged cells, hidden rows."""

from __future__ import annotations

import io
import zipfile
from collections.abc import Mapping

from woold.tables.sheet_marks import SheetMarks
from woold.tables.workbook_ods import ods_marks
from woold.tables.workbook_xls import xls_marks
from woold.tables.workbook_xlsx import xlsx_marks

__all__ = ["SheetMarks", "workbook_marks"]


def workbook_marks(content: bytes) -> Mapping[str, SheetMarks]:
    """Marks of each sheet, by its name.

    Args:
        content: all of an .xlsx, .xlsm, .ods or .xls file that was found sound.

    Raises:
        Exception: of as many kinds as a damaged file has bytes.
    """
    if content[:2] != b"PK":
        return xls_marks(content)
    with zipfile.ZipFile(io.BytesIO(content)) as archive:
        if "content.xml" in archive.namelist():
            return ods_marks(archive)
        return xlsx_marks(archive)
