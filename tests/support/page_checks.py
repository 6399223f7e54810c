"""What holds of every page in a browser: checks that return the faults they find, as sentences.

The rules of axe-core are those of the Web Content Accessibility Guidelines 2.2 (W3C), as its own documentation says
rule by rule. Widths of 320 px: criterion 1.4.10, reflow; text at 200 %: criterion 1.4.4; what has the focus is seen:
criterion 2.4.7.
"""

from __future__ import annotations

import re
from functools import cache
from importlib.util import find_spec
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

if TYPE_CHECKING:
    from playwright.sync_api import Page

__all__ = [
    "count_paper_pages",
    "find_axe_faults",
    "find_focus_faults",
    "find_forced_faults",
    "find_order_faults",
    "find_overflow",
    "find_print_faults",
]

#: Of axe's four weights, those that no page may have.
_GRAVE: Final = ("serious", "critical")
_RUN_AXE: Final = """
async () => {
  // of rows that differ in their words alone the first two are looked at: contrast takes as long as all else together
  const build = (one) => `${one.tagName}.${one.getAttribute("class") ?? ""}`;
  const seen = new Map();
  const alike = [...document.querySelectorAll("tbody tr, li")].filter((one) => {
    const built = [one.parentElement, one, ...one.querySelectorAll("*")].map(build).join(" ");
    seen.set(built, (seen.get(built) ?? 0) + 1);
    return seen.get(built) > 2;
  });
  const found = await axe.run(
    {include: [document], exclude: alike}, {resultTypes: ["violations", "incomplete"], elementRef: true, preload: false}
  );
  // what a window cuts off has the colours of the cells beside it, and axe cannot see what lies behind
  const isCut = (one) => {
    const edge = one?.closest(".scroll, .grid, .rows, .window")?.getBoundingClientRect();
    return Boolean(edge) && one.getBoundingClientRect().right > edge.right;
  };
  const tell = (rule) => rule.nodes.map((node) => ({
    rule: rule.id, impact: node.impact ?? rule.impact, target: node.target.flat().join(" "),
    why: node.any.concat(node.all, node.none).map((check) => check.message).join("; "),
    isLeft: Boolean(node.element?.closest("svg")) || isCut(node.element),
  }));
  return {
    violations: found.violations.flatMap(tell),
    undecided: found.incomplete.filter((rule) => rule.id === "color-contrast").flatMap(tell),
  };
}
"""
#: The widest elements that stick out, for the report: the deepest ones first.
_WIDTHS: Final = """
() => {
  const width = document.documentElement.clientWidth;
  if (document.documentElement.scrollWidth <= width) return [];
  const scrolls = (one) => one.parentElement && one.parentElement.closest(".rows, .grid, .scroll, .window, pre");
  return [...document.body.querySelectorAll("*")]
    .filter((one) => one.getBoundingClientRect().right > width + 1 && !scrolls(one))
    .reverse().slice(0, 3)
    .map((one) => `${one.tagName.toLowerCase()}.${one.className.baseVal ?? one.className}: `
      + `${Math.round(one.getBoundingClientRect().right)} of ${width} px, ${one.textContent.trim().slice(0, 40)}`);
}
"""
_IN_ORDER: Final = """
() => ({
  headings: [...document.querySelectorAll("h1")].map((one) => one.textContent.trim()),
  title: document.title,
  twice: [...document.querySelectorAll("[id]")].map((one) => one.id).filter((id, at, all) => all.indexOf(id) !== at),
  styled: document.querySelectorAll("main [style]:not(svg *)").length,
  fields: [...document.querySelectorAll("input:not([type=hidden]), select, textarea")]
    .filter((one) => !one.labels?.length && !one.getAttribute("aria-label") && !one.getAttribute("aria-labelledby"))
    .map((one) => one.name),
})
"""
#: Every element that Tab reaches has the ring; in a picture, Graphviz's links have the browser's own.
_RINGS: Final = """
() => [...document.querySelectorAll("a[href], button, input:not([type=hidden]), select, textarea, summary, [tabindex]")]
  .filter((one) => one.tabIndex === 0 && !one.closest("svg") && !one.disabled)
  .filter((one) => one.checkVisibility({visibilityProperty: true}))
  .filter((one) => {
    one.focus({focusVisible: true, preventScroll: true});
    if (document.activeElement !== one) return false;
    const style = getComputedStyle(one);
    return style.outlineStyle === "none" || parseFloat(style.outlineWidth) < 2;
  })
  .map((one) => `${one.tagName.toLowerCase()} ${(one.textContent || one.name || "").trim().slice(0, 40)}`)
"""

#: What is printed of a page holds nothing to press or to fill in.
_PRINTED: Final = """
() => [...document.querySelectorAll("form, button, input:not([type=hidden]), select, textarea, nav, .skip")]
  .filter((one) => one.checkVisibility({visibilityProperty: true}) && one.getClientRects().length)
  .map((one) => `${one.tagName.toLowerCase()} ${(one.textContent || one.name || "").trim().slice(0, 40)}`)
"""
#: Text whose colour is that of what lies behind it, in the colours that a reader has forced on all pages.
_UNREADABLE: Final = """
() => {
  const behind = (one) => {
    for (let at = one; at; at = at.parentElement) {
      const colour = getComputedStyle(at).backgroundColor;
      if (!/^rgba.*, 0.$/.test(colour)) return colour;
    }
    return "rgb(255, 255, 255)";
  };
  return [...document.body.querySelectorAll("*")]
    .filter((one) => !one.closest("svg") && one.checkVisibility({visibilityProperty: true}))
    .filter((one) => [...one.childNodes].some((node) => node.nodeType === 3 && node.textContent.trim()))
    .filter((one) => getComputedStyle(one).color === behind(one))
    .map((one) => `${one.tagName.toLowerCase()}.${one.className}: ${one.textContent.trim().slice(0, 40)}`);
}
"""


@cache
def _read_axe() -> str:
    # the package brings the one file; its own code is not asked
    spec = find_spec("axe_playwright_python")
    assert spec is not None
    assert spec.origin is not None
    return (Path(spec.origin).parent / "axe.min.js").read_text("utf-8")


def find_axe_faults(page: Page) -> list[str]:
    """Return what axe calls serious or critical, and text outside pictures whose contrast it cannot tell."""
    page.evaluate(_read_axe())
    found: dict[str, list[dict[str, Any]]] = page.evaluate(_RUN_AXE)
    grave = [one for one in found["violations"] if one["impact"] in _GRAVE]
    # one letter or digit has the colours of the longer ones beside it
    unclear = [one for one in found["undecided"] if not one["isLeft"] and "too short" not in one["why"]]
    return _tell(grave) + [f"undecided: {told}" for told in _tell(unclear)]


def _tell(found: list[dict[str, Any]]) -> list[str]:
    """Return each rule and reason once, with the first place and how many there are."""
    places: dict[str, list[str]] = {}
    for one in found:
        places.setdefault(f"{one['rule']} ({one['impact']}): {one['why']}", []).append(one["target"])
    return [f"{told}, {len(targets)} times, first at {targets[0]}" for told, targets in places.items()]


def find_order_faults(page: Page) -> list[str]:
    """Return what is wrong with headings, title, ids, fields without words and styles in the text."""
    found = page.evaluate(_IN_ORDER)
    faults = []
    if len(found["headings"]) != 1 or not found["headings"][0]:
        faults.append(f"not one h1: {found['headings']}")
    if not found["title"].endswith("Newel") or len(found["title"]) < 12:
        faults.append(f"the title {found['title']!r} does not say what the page is")
    if found["twice"]:
        faults.append(f"ids used twice: {sorted(set(found['twice']))}")
    if found["styled"]:
        faults.append("style= stands in the text")
    if found["fields"]:
        faults.append(f"fields without words: {found['fields']}")
    return faults


def find_overflow(page: Page, widths: tuple[int, ...] = (390, 320)) -> list[str]:
    """Return what is wider than the window at these widths, and at 1280 px with text of twice the size."""
    faults = []
    for width in widths:
        page.set_viewport_size({"width": width, "height": 844})
        faults += [f"at {width} px: {found}" for found in page.evaluate(_WIDTHS)]
    page.set_viewport_size({"width": 1280, "height": 900})
    page.evaluate("document.documentElement.style.fontSize = '200%'")
    faults += [f"text at 200 %: {found}" for found in page.evaluate(_WIDTHS)]
    page.evaluate("document.documentElement.style.fontSize = ''")
    return faults


def find_focus_faults(page: Page) -> list[str]:
    """Return what can have the focus without being seen to have it."""
    return [f"no ring: {found}" for found in page.evaluate(_RINGS)]


def find_print_faults(page: Page) -> list[str]:
    """Return what can be pressed or filled in on paper."""
    page.emulate_media(media="print")
    found = page.evaluate(_PRINTED)
    page.emulate_media(media="screen")
    return [f"printed: {one}" for one in found]


def find_forced_faults(page: Page) -> list[str]:
    """Return the text that cannot be read where the reader's own colours are forced on the page."""
    page.emulate_media(forced_colors="active")
    found = page.evaluate(_UNREADABLE)
    page.emulate_media(forced_colors="none")
    return [f"unreadable in forced colours: {one}" for one in found]


def count_paper_pages(page: Page) -> int:
    """Return how many sheets of A4 the page is when printed."""
    return len(re.findall(rb"/Type\s*/Page(?!s)", page.pdf(format="A4", prefer_css_page_size=True)))
