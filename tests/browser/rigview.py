"""The rig's view as a person sees it: what it says, and how much of a picture is drawn."""

from __future__ import annotations

from playwright.sync_api import Page

_DRAWN = """(id) => {
  const canvas = document.getElementById(id);
  const { width, height } = canvas;
  const copy = new OffscreenCanvas(width, height).getContext("2d", { willReadFrequently: true });
  copy.fillStyle = getComputedStyle(document.documentElement).getPropertyValue("--strung");
  copy.fillRect(0, 0, 1, 1);
  const ink = copy.getImageData(0, 0, 1, 1).data;
  copy.clearRect(0, 0, 1, 1);
  copy.drawImage(canvas, 0, 0);
  const { data } = copy.getImageData(0, 0, width, height);
  const columns = new Set();
  for (let at = 0; at < data.length; at += 4) {
    const off = [0, 1, 2, 3].reduce((sum, n) => sum + Math.abs(data[at + n] - ink[n]), 0);
    if (off < 100) columns.add((at / 4) % width);
  }
  return columns.size / width;
}"""


def words(page: Page, selector: str) -> str:
    """What a person reads there, white space made plain."""
    return " ".join(page.locator(selector).inner_text().split())


def drawn_share(page: Page, canvas: str) -> float:
    """In how much of a picture's width a reading is drawn, 0 to 1."""
    return float(page.evaluate(_DRAWN, canvas))


def wait_for(page: Page, selector: str, says: str) -> None:
    """Until the words stand there."""
    page.locator(selector).filter(has_text=says).wait_for()
