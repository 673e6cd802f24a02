"""What is measured on any page: shifts, sizes of letters, what is cut off."""

from __future__ import annotations

from playwright.sync_api import Page

__all__ = ["MOST_SHIFT", "SHIFTS", "shifted", "troubles"]

MOST_SHIFT = 0.05
"""Less than half of what counts as good: 0.1, https://web.dev/articles/cls (from memory)."""

SHIFTS = """
window.shift = 0; window.shifted = [];
new PerformanceObserver(list => { for (const each of list.getEntries()) if (!each.hadRecentInput) {
  window.shift += each.value;
  window.shifted.push(...each.sources.map(one => one.node?.id || one.node?.className || ''));
} }).observe({type: 'layout-shift', buffered: true});
"""
"""Put into a page before its own scripts: sums up its layout shifts."""

# Letters of a drawing are as large as its scale makes them.
_SMALL = """
[...document.querySelectorAll('body *')]
  .filter(each => each.checkVisibility()
    && [...each.childNodes].some(node => node.nodeType === 3 && node.data.trim()))
  .map(each => [each, parseFloat(getComputedStyle(each).fontSize)
    * (each.ownerSVGElement?.getScreenCTM()?.a ?? 1)])
  .filter(([, size]) => size < 13.9)
  .map(([each, size]) => `${size.toFixed(1)} px: ${each.tagName} `
    + `${each.className.baseVal ?? each.className} ${each.textContent.trim().slice(0, 30)}`)
"""

_CUT_COLUMNS = """
[...document.querySelectorAll('.scroll')]
  .filter(each => each.checkVisibility() && each.scrollWidth > each.clientWidth + 1)
  .map(each => `a column is cut off: ${each.getAttribute('aria-label') ?? each.id}`)
"""

# A line that ends in three dots on purpose says so in its style; what is for readers of screens
# alone is one pixel wide.
_CUT_WORDS = """
[...document.querySelectorAll('main *, header *')]
  .filter(each => each.checkVisibility() && each.clientWidth > 2 && !each.closest('.unseen, svg'))
  .filter(each => { const style = getComputedStyle(each);
    return ['hidden', 'clip'].includes(style.overflowX) && style.textOverflow !== 'ellipsis'
      && !(each instanceof HTMLInputElement) && each.tagName !== 'SUMMARY'
      && each.scrollWidth > each.clientWidth + 1; })
  .map(each => `words are cut off: ${each.tagName} ${each.id} ${each.className}`)
"""

_CUT_LINES = """
[...document.querySelectorAll('.glance dd')]
  .filter(each => each.checkVisibility() && each.scrollHeight > each.clientHeight + 3)
  .map(each => `lines are cut off: ${each.textContent}`)
"""

_CUT_DRAWINGS = """
[...document.querySelectorAll('main svg text')].filter(each => each.checkVisibility())
  .filter(each => { const box = each.getBoundingClientRect();
    const frame = each.ownerSVGElement.getBoundingClientRect();
    return box.width && (box.left < frame.left - 1.5 || box.right > frame.right + 1.5
      || box.top < frame.top - 3 || box.bottom > frame.bottom + 3); })
  .map(each => `cut off at the edge of a drawing: ${each.textContent}`)
"""

_CARE_TWICE = """
[...document.querySelectorAll('main details.care')].filter(each => each.checkVisibility()).slice(1)
  .map(each => `cautions are said once more: ${each.parentElement.id}`)
"""

# A case file's names belong beside words that say the same, or in a text that is typed as it is.
_CODE_NAMES = r"""
[...document.querySelectorAll('main *')]
  .filter(each => !each.closest('script, style, code, pre, textarea, .in-file'))
  .flatMap(each => [...each.childNodes].filter(node => node.nodeType === 3).map(node => node.data))
  .filter(text => new RegExp(
    "(?<![\\w./-])(?:load|film|carriage|dancer|machine|program|hold|plant|transport)"
    + "(?:\\[[0-9]+\\])?\\.(?!toml|csv)[a-z_]+").test(text))
  .map(text => `a field goes by its name in a file: ${text.trim().slice(0, 80)}`)
"""

_SIDEWAYS = """
document.documentElement.scrollWidth > window.innerWidth
  ? [`the page is ${document.documentElement.scrollWidth} px wide`] : []
"""


def troubles(page: Page, *, columns: bool = True) -> list[str]:
    """What is wrong with the page as it is: letters below 14 px, what is cut off or said twice."""
    parts = [
        _SMALL,
        _CUT_WORDS,
        _CUT_LINES,
        _CUT_DRAWINGS,
        _CARE_TWICE,
        _CODE_NAMES,
        _SIDEWAYS,
        *([_CUT_COLUMNS] if columns else []),
    ]
    together = ", ".join(f"...({each.strip()})" for each in parts)
    return [*page.evaluate(f"() => [...new Set([{together}])]")]


def shifted(page: Page) -> tuple[float, list[str]]:
    """Sum of the layout shifts since the page was opened, and what moved."""
    total, moved = page.evaluate("[window.shift, [...new Set(window.shifted)].slice(0, 8)]")
    return total, moved
