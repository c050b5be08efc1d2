"""The examination by the names a person would use, for the tests in this folder."""

import re

import scene

# The proximal aorta in a sagittal plane, and the probe at a place where that stays so when the notch is turned.
SAGITTAL = "v1.window=sagittal_left_aorta_proximal"

CARDS = ".strip .card"
REVIEW = "dialog#review"
FINISH = "dialog#finish"


def caption_button(page, name: str):
    return page.locator(".stage .caption").get_by_role("button", name=name, exact=True)


def freeze(page):
    caption_button(page, "Freeze").click()
    scene.settle(page)
    page.wait_for_selector(".frozen:visible")


def unfreeze(page):
    caption_button(page, "Unfreeze").click()
    scene.settle(page)
    page.wait_for_selector(".frozen", state="hidden")


def line(page):
    return page.get_by_role("combobox", name="Annotation")


def acquire(page):
    """Acquires, and waits until the picture stands in the strip, judged and drawn."""
    before = page.locator(CARDS).count()
    caption_button(page, "Acquire").click()
    wait_for_cards(page, before + 1)


def wait_for_cards(page, count: int):
    page.wait_for_function(
        "([cards, count]) => document.querySelectorAll(cards).length === count"
        " && !document.querySelector('canvas[data-undrawn]')",
        arg=[CARDS, count],
    )
    scene.settle(page)


def take(page, annotation: str):
    """One annotated picture."""
    freeze(page)
    line(page).fill(annotation)
    acquire(page)
    unfreeze(page)


def cards(page) -> list[list[str]]:
    """Number with annotation, plane, time and verdict of every card, without the words for screen readers."""
    texts = [card.inner_text().split("\n") for card in page.locator(CARDS).all()]
    return [[part.strip() for part in text if part.strip()][1:] for text in texts]


def notes(page) -> str:
    return page.locator("#examine-notes").inner_text()


def findings(page, within: str = ".examine") -> list[str]:
    """The verdict, a line a token: "Right SAG: The plane is sagittal."."""
    rows = page.locator(f"{within} .findings li").all_inner_texts()
    return [re.sub(r"\s+", " ", row).strip() for row in rows]


def review_pixels(page) -> list:
    """Width, height and all bytes of the picture that is looked at again."""
    return page.evaluate(
        """() => {
            const canvas = document.querySelector('#review-canvas');
            const copy = new OffscreenCanvas(canvas.width, canvas.height).getContext('2d');
            copy.drawImage(canvas, 0, 0);
            const data = copy.getImageData(0, 0, canvas.width, canvas.height).data;
            let text = '';
            for (let i = 0; i < data.length; i += 8192) text += String.fromCharCode(...data.subarray(i, i + 8192));
            return [canvas.width, canvas.height, btoa(text)];
        }"""
    )


def kept(page) -> dict[str, str]:
    """What the browser keeps of examinations, by name."""
    return page.evaluate(
        "() => Object.fromEntries(Object.entries(localStorage).filter(([name]) => name.includes('examination')))"
    )
