"""A set on paper: what the printer gets."""

import io

import pypdf
import pytest
import scene
from harness import shot

READY_MS = 120_000

PAPERS = {"A4": (595, 842), "Letter": (612, 792)}

# One point of rounding.
POINTS = 1.5


def tags(node) -> list[tuple[str, str]]:
    """The kinds of a tagged file's elements and their words for those who do not see them, from the top of the tree."""
    node = node.get_object() if hasattr(node, "get_object") else node
    if isinstance(node, list):
        return [found for one in node for found in tags(one)]
    if not isinstance(node, dict):
        return []
    own = [(str(node["/S"]).lstrip("/"), str(node.get("/Alt") or ""))] if "/S" in node else []
    return own + (tags(node["/K"]) if "/K" in node else [])


def opened(page, site):
    """The worksheet of a starter set, by the link that the workshop gives."""
    page.goto(site + "teach.html")
    scene.wait_until_ready(page)
    page.get_by_label("Begin with an example").select_option(label="Abdominal aorta")
    page.wait_for_function("() => document.querySelectorAll('#questions li').length === 8", timeout=READY_MS)
    link = page.get_by_role("link", name="Print a worksheet").get_attribute("href")
    page.goto(f"{site}{link}&seed=7")
    page.wait_for_selector(".sheet[data-ready='true']", timeout=READY_MS)
    return page


@pytest.mark.undrawn
@pytest.mark.parametrize("paper", PAPERS)
def test_the_printed_sheet(page, site, paper):
    opened(page, site)
    page.evaluate("window.drawing_calls = 1")
    asked = page.locator(".sheet-question").count()
    assert asked >= 5, "questions are on paper"
    assert page.locator("svg.section").count() >= 3, "with vector pictures"
    assert page.locator("svg.chart").count() >= 1, "and the body as a chart"
    assert page.locator(".sheet-answers > .note").inner_text() == "", "every question is on paper"
    shot(page, "worksheet")
    page.get_by_label("Paper").select_option(label=paper)
    page.locator(f".sheet[data-paper='{paper.lower()}']").wait_for(state="attached")
    # The printer is asked for the other size, and the choice on the page wins.
    other = next(name for name in PAPERS if name != paper)
    data = page.pdf(format=other, prefer_css_page_size=True, tagged=True)
    reader = pypdf.PdfReader(io.BytesIO(data))
    for sheet in reader.pages:
        box = sheet.mediabox
        assert abs(float(box.width) - PAPERS[paper][0]) < POINTS and abs(float(box.height) - PAPERS[paper][1]) < POINTS
    catalogue = reader.trailer["/Root"]
    assert "/StructTreeRoot" in catalogue, "tagged, for screen readers"
    assert catalogue["/Lang"].lower().startswith("en")
    assert catalogue["/MarkInfo"]["/Marked"], "and said to be"
    found = tags(catalogue["/StructTreeRoot"])
    kinds = [kind for kind, _ in found]
    assert kinds.count("H1") == 1 and kinds.count("H2") >= 1, "title and answers are headings"
    names = page.locator("svg.section, svg.chart").evaluate_all("list => list.map(svg => svg.getAttribute('aria-label'))")
    told = [words for kind, words in found if kind == "Figure" and words]
    assert sorted(told) == sorted(names) and all(names), "every picture is tagged and has its words"
    assert kinds.count("LI") >= 2 * asked, "questions and answers are lists"
    texts = [sheet.extract_text() for sheet in reader.pages]
    # Two questions with pictures go on a page of either size, and the answers take one or two more.
    assert asked / 3 <= len(texts) <= asked + 2, f"{len(texts)} pages for {asked} questions"
    assert all(len(text.split()) > 20 for text in texts), "no page is empty"
    printed = " ".join(" ".join(texts).split())
    for number, prompt in enumerate(page.locator(".sheet-prompt").all_inner_texts(), 1):
        assert " ".join(prompt.split()) in printed, f"question {number} is printed: {prompt}"
    assert sum("Answers: Abdominal aorta" in text for text in texts) == 1, "the answers stand on a sheet apart"
    first_of_answers = next(number for number, text in enumerate(texts) if "Answers: Abdominal aorta" in text)
    assert first_of_answers > 0 and "☐" not in texts[first_of_answers], "without questions on it"
    assert all("seed 7" in text and "version" in text for text in texts), "seed and version at the foot of every page"
    assert "Print" not in " ".join(texts), "controls stay on the screen"


@pytest.mark.undrawn
def test_no_question_is_split(page, site):
    opened(page, site)
    page.evaluate("window.drawing_calls = 1")
    boxes = page.locator(".sheet-question").evaluate_all("list => list.map(q => q.querySelectorAll('.sheet-options li').length)")
    data = page.pdf(format="A4", tagged=True)
    texts = [sheet.extract_text() for sheet in pypdf.PdfReader(io.BytesIO(data)).pages]
    # The boxes of a page are those of whole questions, in their order.
    left = list(boxes)
    for text in texts:
        here = text.count("☐")
        while here > 0 and left:
            here -= left.pop(0)
        assert here == 0, f"a question goes over the edge of a page: {text[:120]!r}"
    assert not any(left), "all questions are printed"


@pytest.mark.undrawn
def test_the_same_seed_gives_the_same_sheet(page, site):
    opened(page, site)
    page.evaluate("window.drawing_calls = 1")
    first = page.locator(".sheet main").inner_html()
    page.reload()
    page.wait_for_selector(".sheet[data-ready='true']", timeout=READY_MS)
    page.evaluate("window.drawing_calls = 1")
    assert page.locator(".sheet main").inner_html() == first


@pytest.mark.undrawn
def test_a_broken_link_is_said(page, site):
    page.goto(site + "worksheet.html#s1.nonsense!")
    page.locator(".sheet-note", has_text="could not be made").wait_for(timeout=READY_MS)
    page.evaluate("window.drawing_calls = 1")
