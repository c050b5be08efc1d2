"""The parts of the scan screen, by the names a person would use, for the tests in this folder."""

import re

BODY = "#body-canvas"
PICTURE = "#picture-canvas"
PLANE = "#plane-name"
DIAL = "#dial"

# The body files are a few hundred kilobytes from this machine; a software renderer takes the rest.
READY_MS = 60_000


def wait_until_ready(page):
    """The whole body is there and both views have been drawn from it."""
    page.wait_for_selector(".page[data-body='loaded']", timeout=READY_MS)
    settle(page)
    return page


def open_scan(page, url: str, fragment: str = "", motion: str = "reduce"):
    """Opens the scan screen and waits for the body.

    Without motion unless a test is about it: a software renderer takes long over each step of an animation.
    """
    page.emulate_media(reduced_motion=motion)
    page.goto(url + (f"#{fragment}" if fragment else ""))
    return wait_until_ready(page)


# A move begins in the frame after what asked for it, so one look at a page at rest says nothing.
AT_REST = """() => {
  const still = document.querySelector('.page').dataset.moving === 'false';
  window.still_frames = still ? window.still_frames + 1 : 0;
  return window.still_frames > 3;
}"""


def settle(page):
    """Waits until nothing moves: animations have ended and the last frame is on the screen."""
    page.evaluate("window.still_frames = 0")
    page.wait_for_function(AT_REST)


def plane(page) -> str:
    return page.locator(PLANE).inner_text().strip()


def sides(page) -> dict[str, str]:
    """The letters at the four sides of the picture."""
    return {side: page.locator(f".side.{side} b").inner_text().strip() for side in ("left", "right", "top", "bottom")}


def side_words(page) -> dict[str, str]:
    return {side: page.locator(f".side.{side} span:last-child").inner_text().strip() for side in ("left", "right", "top", "bottom")}


def fragment(page) -> dict[str, str]:
    """What the address says, key by key."""
    text = page.evaluate("location.hash").lstrip("#")
    assert text.startswith("v1."), f"the address holds no view: {text!r}"
    return dict(part.split("=", 1) for part in text[3:].split("&"))


def wait_for_fragment(page, key: str, value: str):
    """Waits until the address says `key=value`; it is written at most twice a second."""
    page.wait_for_function(
        "([key, value]) => location.hash.slice(1).replace(/^v1\\./, '').split('&').includes(`${key}=${value}`)",
        arg=[key, value],
        timeout=READY_MS,
    )


def type_number(page, label: str, value: float):
    """Types a value into the number field of a quantity, as a person without a mouse would."""
    field = page.get_by_role("spinbutton", name=re.compile(f"^{label}", re.I))
    field.fill(str(value))
    field.press("Enter")
    settle(page)


def box(page, selector: str):
    found = page.locator(selector).bounding_box()
    assert found, f"{selector} is not on the screen"
    return found


def no_sideways_scroll(page):
    wide, room = page.evaluate("[document.documentElement.scrollWidth, document.documentElement.clientWidth]")
    assert wide <= room, f"the page is {wide} px wide in a window of {room}"
