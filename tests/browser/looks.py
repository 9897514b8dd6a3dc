"""Whether a page can be read, reached and hit: by axe, and by rules of our own beside it."""

from __future__ import annotations

from typing import Any

from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page

TAGS = ("wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa")
LEAST_TARGET_PX = 44
LEAST_TEXT_PX = 14
LEAST_PICTURE_PX = 12
"""Of a picture's words where it is narrowest; what it shows stands beside it in full."""

_FOCUSABLE = "a[href], button, input, select, textarea, summary, [tabindex]:not([tabindex='-1'])"
_SHORT = """
  const short = (one) => {
    const words = (one.getAttribute("aria-label") || one.textContent || "").trim();
    return `${one.tagName.toLowerCase()}${one.id ? "#" + one.id : ""} ${words.slice(0, 40)}`;
  };
  const seen = (one) => one.checkVisibility({ opacityProperty: true, visibilityProperty: true })
    && one.getClientRects().length > 0;
"""
_SMALL_TARGETS = f"""(least) => {{ {_SHORT}
  const sizes = (one) => {{
    const rects = [one, ...(one.labels || [])].map((each) => each.getBoundingClientRect());
    return rects.map((rect) => [rect.width, rect.height]);
  }};
  return [...document.querySelectorAll("{_FOCUSABLE}")]
    .filter((one) => seen(one) && !one.disabled && one.getAttribute("role") !== "gridcell")
    .filter((one) => !one.closest("p, li, td, dd") || one.tagName !== "A")
    .filter((one) => !sizes(one).some(([w, h]) => w >= least - 0.5 && h >= least - 0.5))
    .map((one) => `${{short(one)}}: ${{sizes(one).map((each) => each.map(Math.round).join("x"))}}`);
}}"""
_SMALL_TEXT = f"""([least, drawn]) => {{ {_SHORT}
  const found = new Map();
  const walk = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  while (walk.nextNode()) {{
    const text = walk.currentNode.data.trim();
    const one = walk.currentNode.parentElement;
    if (text === "" || !seen(one) || one.closest("title, desc, .sr-only, script, style")) continue;
    const turned = one.closest("svg") && one.getScreenCTM?.();
    const scale = turned ? Math.hypot(turned.c, turned.d) : 1;
    const px = parseFloat(getComputedStyle(one).fontSize) * scale;
    if (px >= (turned ? drawn : least) - 0.05) continue;
    found.set(`${{px.toFixed(1)}} px: ${{text.slice(0, 40)}}`, 1);
  }}
  return [...found.keys()];
}}"""
_REACHABLE = f"""() => {{ {_SHORT}
  return [...document.querySelectorAll("{_FOCUSABLE}")]
    .filter((one) => seen(one) && !one.disabled && one.tabIndex >= 0).map(short);
}}"""
_FOCUS = f"""() => {{ {_SHORT}
  const one = document.activeElement;
  if (one === null || one === document.body) return null;
  const look = () => {{
    const style = getComputedStyle(one);
    return [style.outlineStyle, style.outlineWidth, style.outlineColor, style.boxShadow,
      style.stroke, style.strokeWidth].join(" ");
  }};
  const rect = one.getBoundingClientRect();
  const style = getComputedStyle(one);
  const ringed = style.outlineStyle !== "none" && parseFloat(style.outlineWidth) >= 2;
  const shown = ringed || style.boxShadow !== "none";
  return {{ name: short(one), shown, look: look(), top: rect.top, height: rect.height,
    inside: rect.bottom > 0 && rect.top < innerHeight, label: one.id }};
}}"""


def violations(page: Page, rules: tuple[str, ...] = (), pictures: bool = True) -> list[str]:
    """What axe finds wrong, a line an element; by all rules of `TAGS`, or by the named alone.

    pictures: what is drawn is looked at too, mark by mark: most of the time it takes.
    """
    only = {"type": "rule", "values": rules} if rules else {"type": "tag", "values": TAGS}
    options: dict[str, Any] = {"resultTypes": ["violations"], "runOnly": only}
    if not rules:
        options["rules"] = {"target-size": {"enabled": True}}
    within = None if pictures else {"exclude": [["svg"]]}
    found = Axe().run(page, within, options).response["violations"]
    return [_line(rule, node) for rule in found for node in rule["nodes"]]


def _line(rule: dict[str, Any], node: dict[str, Any]) -> str:
    why = " ".join(str(node.get("failureSummary", "")).split())
    return f"{rule['id']}: {node['target']} {node['html'][:120]}: {why[:200]}"


def small_targets(page: Page) -> list[str]:
    """What a finger misses. A place on a picture of the neck is reached by its controls too."""
    return list(page.evaluate(_SMALL_TARGETS, LEAST_TARGET_PX))


def small_texts(page: Page) -> list[str]:
    """Letters too small for arm's length, as they come out on the screen."""
    return list(page.evaluate(_SMALL_TEXT, [LEAST_TEXT_PX, LEAST_PICTURE_PX]))


def reachable(page: Page) -> list[str]:
    """What the Tab key ought to come to, in the words of `tabbed`."""
    return list(page.evaluate(_REACHABLE))


def wider_than_the_screen(page: Page) -> int:
    """By how many pixels the page must be pushed sideways."""
    return int(
        page.evaluate(
            "() => document.documentElement.scrollWidth - document.documentElement.clientWidth"
        )
    )


def tabbed(page: Page, most: int = 200) -> list[dict[str, Any]]:
    """Every stop of the Tab key from the page's top until it leaves the page, in order."""
    page.evaluate("() => { document.activeElement?.blur(); scrollTo(0, 0); }")
    stops: list[dict[str, Any]] = []
    for _ in range(most):
        page.keyboard.press("Tab")
        stop = page.evaluate(_FOCUS)
        if stop is None:
            return stops
        stops.append(stop)
    raise AssertionError(f"the Tab key did not leave the page after {most} stops")
