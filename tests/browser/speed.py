"""Timings taken inside the page, by the page's own clock, and what of them is told."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any

import numpy as np
from playwright.sync_api import Page

#: Frames in which a canvas was drawn on, by the clock of the frames themselves.
COUNT_FRAMES = """
window.drawn = {};
for (const name of ["stroke", "fill", "fillRect"]) {
  const own = CanvasRenderingContext2D.prototype[name];
  CanvasRenderingContext2D.prototype[name] = function (...given) {
    (window.drawn[this.canvas.id] ||= new Set()).add(document.timeline.currentTime);
    return own.apply(this, given);
  };
}
"""
#: From the hand's move until what came of it was painted. The numbers are written anew by every
#: answer, in the same turn as the pictures.
_MOVE = """async ([selector, kind]) => {
  const made = document.querySelector(selector);
  const painted = (then) => requestAnimationFrame(() => {
    const channel = new MessageChannel();
    channel.port1.onmessage = () => then();
    channel.port2.postMessage(null);
  });
  const acts = {
    slide() {
      const [least, most, step] = [made.min, made.max, made.step].map(Number);
      const first = Number(made.dataset.first ??= made.value);
      const near = [-3, -2, -1, 0, 1, 2, 3].map((by) => first + by * step)
        .filter((one) => one >= least && one <= most && Math.abs(one - made.value) > step / 2);
      made.value = String(near[Math.floor(near.length * Math.random())]);
      made.dispatchEvent(new Event("input", { bubbles: true }));
    },
    press() { made.dispatchEvent(new MouseEvent("click", { bubbles: true })); },
  };
  return new Promise((done, failed) => {
    setTimeout(() => failed(new Error(`${selector}: nothing came of it`)), 30000);
    const watch = new MutationObserver(() => {
      watch.disconnect();
      painted(() => done(performance.now() - began));
    });
    watch.observe(document.querySelector(".cards"), { childList: true, subtree: true });
    const began = performance.now();
    acts[kind]();
  });
}"""
_PAINTS = """() => Object.fromEntries(
  performance.getEntriesByType("paint").map((one) => [one.name, one.startTime]))"""


def first_paint_ms(page: Page) -> float:
    """From asking for the page until something of its content stood there."""
    page.wait_for_function(f"() => 'first-contentful-paint' in ({_PAINTS})()")
    return float(page.evaluate(_PAINTS)["first-contentful-paint"])


def frames_a_second(page: Page, canvas: str, over_s: float) -> tuple[float, float]:
    """Frames a second in which the canvas was drawn on, and the longest time without, in ms.

    The page must have begun with COUNT_FRAMES.
    """
    page.evaluate("canvas => window.drawn[canvas]?.clear()", canvas)
    page.wait_for_timeout(1000.0 * over_s)
    times = np.sort(page.evaluate("canvas => [...(window.drawn[canvas] ?? [])]", canvas))
    if times.size < 2:
        return 0.0, 1000.0 * over_s
    return 1000.0 * (times.size - 1) / float(times[-1] - times[0]), float(np.diff(times).max())


def moved_ms(page: Page, kind: str, selectors: Iterable[str]) -> list[float]:
    """Moves one after the other, each once the one before it is painted: `slide` a slider to
    within three steps of where it stood first, or `press` something."""
    return [float(page.evaluate(_MOVE, [selector, kind])) for selector in selectors]


def memory(page: Page) -> dict[str, float]:
    """What the page holds once what is not needed is thrown away: script's megabytes, nodes,
    listeners."""
    session: Any = page.context.new_cdp_session(page)
    session.send("HeapProfiler.enable")
    session.send("HeapProfiler.collectGarbage")
    session.send("Performance.enable")
    found = {one["name"]: one["value"] for one in session.send("Performance.getMetrics")["metrics"]}
    session.detach()
    return {
        "heap_mb": found["JSHeapUsedSize"] / 1e6,
        "nodes": found["Nodes"],
        "listeners": found["JSEventListeners"],
    }


def middle_and_late(times: Sequence[float]) -> tuple[float, float]:
    """Median and 95th percentile."""
    middle, late = np.percentile(times, [50, 95])
    return float(middle), float(late)
