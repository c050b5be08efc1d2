"""What browser tests share: screenshots, blank canvases, accessibility rules."""

import io
import pathlib

import axe_playwright_python
from PIL import Image

SHOTS = pathlib.Path(__file__).resolve().parent / "shots"
AXE = pathlib.Path(axe_playwright_python.__file__).with_name("axe.min.js").read_text(encoding="utf-8")

# WCAG 2.2, levels A and AA, with the earlier versions it contains.
AXE_RULES = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"]

# A drawn view has many shades; a cleared or lost one has one, and a frame or a scroll bar adds a few.
FEWEST_COLOURS = 16
LARGEST_SHARE = 0.995


def open_page(page, url: str):
    """Goes to an address and waits until the program has replaced the loading words."""
    page.goto(url)
    page.wait_for_selector("#loading", state="detached")
    return page


def shot(page, name: str) -> pathlib.Path:
    """Saves the visible page to shots/NAME.png, for people to look at."""
    SHOTS.mkdir(exist_ok=True)
    path = SHOTS / f"{name}.png"
    page.screenshot(path=path)
    return path


def colours(locator) -> tuple[int, float]:
    """How many colours an element shows, and what share of it the most frequent one fills.

    The page is photographed and not the drawing buffer read: the buffer is cleared after a frame.
    """
    with Image.open(io.BytesIO(locator.screenshot())) as picture:
        counts = picture.convert("RGB").getcolors(maxcolors=1 << 24)
        size = picture.width * picture.height
    return len(counts), max(count for count, _ in counts) / size


def assert_not_blank(locator):
    """An element that draws, such as a canvas, shows more than its background."""
    number, share = colours(locator)
    assert number >= FEWEST_COLOURS, f"only {number} colours: the view is blank"
    assert share <= LARGEST_SHARE, f"one colour fills {share:.1%}: the view is blank"


def axe(page, *, allowed_incomplete: tuple[str, ...] = (), without: tuple[str, ...] = ()) -> list[str]:
    """The faults axe-core finds by the rules of WCAG 2.2 A and AA, as lines for people.

    The rules come in as text because the page's policy refuses foreign script elements.
    What axe could not decide counts as a fault unless its rule is named: text over a canvas, say.
    """
    if not page.evaluate("typeof window.axe === 'object'"):
        page.evaluate(AXE + "\n;0")
    result = page.evaluate(
        "tags => axe.run(document, { runOnly: { type: 'tag', values: tags }, resultTypes: ['violations', 'incomplete'] })",
        AXE_RULES,
    )
    assert result["passes"], "axe checked nothing"
    faults = []
    for kind in ("violations", "incomplete"):
        for rule in result[kind]:
            if rule["id"] in without or (kind == "incomplete" and rule["id"] in allowed_incomplete):
                continue
            for node in rule["nodes"]:
                faults.append(f"{kind} {rule['id']}: {rule['help']}: {node['target']} {node['html'][:160]}")
    return faults


def assert_accessible(page, *, allowed_incomplete: tuple[str, ...] = (), without: tuple[str, ...] = ()):
    """No fault by the rules of `axe`."""
    faults = axe(page, allowed_incomplete=allowed_incomplete, without=without)
    assert not faults, "\n".join(faults)
