"""What a printed page really holds, measured on the PDF: boxes in mm, type in pt, text that is cut.

Everything is read off the file by a PDF library (pdfium), as its pages would be printed.
"""

from __future__ import annotations

import ctypes
import math
from typing import NamedTuple

import numpy as np
import pypdfium2
import pypdfium2.raw as pdfium
from scipy import ndimage

MM = 25.4 / 72.0
"""Millimetres in a point (of which 72 are an inch)."""

_DOTS = 300.0


class Box(NamedTuple):
    """The white inside of an empty box [mm]; places from the upper left corner of the page."""

    left: float
    top: float
    width: float
    height: float


class Letter(NamedTuple):
    """A letter: what it is, its size [pt], and the place of its ink [pt] from below."""

    text: str
    size: float
    left: float
    bottom: float
    right: float
    top: float


class Rule(NamedTuple):
    """An upright line [pt]."""

    x: float
    bottom: float
    top: float


def pages_of(pdf: bytes) -> list[pypdfium2.PdfPage]:
    """Each page of a document; the library closes it when nobody holds a page any more."""
    return list(pypdfium2.PdfDocument(pdf))


def blank_boxes(page: pypdfium2.PdfPage, least: float = 5.0) -> list[Box]:
    """Boxes to write in: white rectangles that lines enclose, at least so high and wide [mm]."""
    grey = np.asarray(page.render(scale=_DOTS / 72.0, grayscale=True).to_pil())
    places, _ = ndimage.label(grey > 225)
    sizes = np.bincount(places.ravel())
    found = []
    for number, (rows, columns) in enumerate(ndimage.find_objects(places), start=1):
        high, wide = rows.stop - rows.start, columns.stop - columns.start
        at_edge = 0 in (rows.start, columns.start) or rows.stop == grey.shape[0]
        if at_edge or sizes[number] < 0.998 * high * wide:
            continue
        to_mm = 25.4 / _DOTS
        box = Box(columns.start * to_mm, rows.start * to_mm, wide * to_mm, high * to_mm)
        if min(box.width, box.height) >= least:
            found.append(box)
    return found


def letters(page: pypdfium2.PdfPage) -> list[Letter]:
    """Every letter of a page as it is printed, those inside of pictures too."""
    text = page.get_textpage()
    found = []
    matrix = pdfium.FS_MATRIX()
    for index in range(text.count_chars()):
        letter = chr(pdfium.FPDFText_GetUnicode(text, index))
        if letter.isspace() or letter in "\u200b\u2060\ufffe\0":
            continue
        pdfium.FPDFText_GetMatrix(text, index, ctypes.byref(matrix))
        scale = math.sqrt(abs(matrix.a * matrix.d - matrix.b * matrix.c))
        size = pdfium.FPDFText_GetFontSize(text, index) * scale
        found.append(Letter(letter, size, *text.get_charbox(index)))
    text.close()
    return found


def smallest_type(pdf: bytes) -> float:
    """Size of the smallest letter of a document [pt]."""
    return min(each.size for page in pages_of(pdf) for each in letters(page))


def rules(page: pypdfium2.PdfPage) -> list[Rule]:
    """Every upright line of a page's tables."""
    found = []
    for each in page.get_objects(filter=[pdfium.FPDF_PAGEOBJ_PATH], max_depth=1):
        left, bottom, right, top = each.get_bounds()
        if right - left < 3.0 and top - bottom > 8.0:
            found.append(Rule((left + right) / 2.0, bottom, top))
    return found


def cut_letters(page: pypdfium2.PdfPage, margin: float, has_rules: bool = True) -> list[Letter]:
    """Letters that run off the printed part of a page, or over an upright line of a table.

    Args:
        page: of the document.
        margin: that nothing may be printed in [mm].
        has_rules: whether its upright lines are those of tables.
    """
    wide, high = page.get_size()
    edge, lines = margin / MM, rules(page) if has_rules else []
    return [
        each
        for each in letters(page)
        if each.left < edge - 0.5
        or each.right > wide - edge + 0.5
        or each.bottom < 0
        or each.top > high
        or any(
            each.left + 0.4 < line.x < each.right - 0.4
            and line.bottom < (each.bottom + each.top) / 2.0 < line.top
            for line in lines
        )
    ]


def printed_words(pdf: bytes) -> str:
    """Every letter of a document in its order, without blanks: broken words stay whole."""
    found = []
    for page in pages_of(pdf):
        text = page.get_textpage()
        found.append(text.get_text_range())
        text.close()
    squeezed = "".join("".join(found).split())
    return squeezed.replace("\u200b", "").replace("\u2060", "")
