"""Questions for other quiz programs: read, shown and marked by an independent player of QTI 3 (@citolab/qti-components)."""

import io
import json
import pathlib
import zipfile

import pytest
from lxml import etree
from PIL import Image

from conftest import planeward

ITEM = "http://www.imsglobal.org/xsd/imsqtiasi_v3p0"
PACKAGE = "http://www.imsglobal.org/xsd/qti/qtiv3p0/imscp_v1p1"
HERE = pathlib.Path(__file__).resolve().parent

SET = {
    "format": "planeward-set",
    "version": 1,
    "title": "Quiz & co",
    "seed": 5,
    "questions": [
        {"id": "plane", "kind": "plane_from_picture", "view": {"window": "sagittal_right_ivc"}},
        {"id": "notch", "kind": "notch_from_picture", "view": {"window": "transverse_aorta_mid"}, "points": 3},
        {"id": "side", "kind": "side", "view": {"window": "transverse_aorta_mid"}, "side": "right", "prompt": "What is <here>?"},
        {"id": "shape", "kind": "transducer_from_picture", "view": {"window": "thyroid_transverse_isthmus"}},
        {"id": "place", "kind": "place_probe", "view": {"window": "transverse_aorta_mid"}, "structure": "aorta"},
        {"id": "move", "draw": {"kinds": ["next_move"], "count": 2}},
    ],
}


@pytest.fixture(scope="module")
def quiz(tmp_path_factory):
    folder = tmp_path_factory.mktemp("quiz")
    (folder / "quiz.json").write_text(json.dumps(SET), encoding="utf-8")
    said = planeward("pack", "--standard", "qti", "--out", folder, folder / "quiz.json")
    assert "question place: place_probe needs the body view" in said
    with zipfile.ZipFile(folder / "quiz-qti.zip") as archive:
        assert archive.testzip() is None
        archive.extractall(folder / "content")
    return folder / "content"


def test_the_package_is_whole(quiz):
    manifest = etree.parse(str(quiz / "imsmanifest.xml")).getroot()
    assert manifest.tag == f"{{{PACKAGE}}}manifest"
    assert [child.text for child in manifest.find(f"{{{PACKAGE}}}metadata")] == ["QTI Package", "3.0.0"]
    resources = manifest.findall(f".//{{{PACKAGE}}}resource")
    kinds = [one.get("type") for one in resources]
    assert kinds == ["imsqti_test_xmlv3p0"] + ["imsqti_item_xmlv3p0"] * 6
    listed = {one.get("href") for one in manifest.iter(f"{{{PACKAGE}}}file")}
    there = {path.relative_to(quiz).as_posix() for path in quiz.rglob("*") if path.is_file()} - {"imsmanifest.xml"}
    assert listed == there
    references = {one.get("identifierref") for one in manifest.iter(f"{{{PACKAGE}}}dependency")}
    assert references == {one.get("identifier") for one in resources[1:]}
    test = etree.parse(str(quiz / "test.xml")).getroot()
    items = [one.get("href") for one in test.iter(f"{{{ITEM}}}qti-assessment-item-ref")]
    assert items == [f"items/{name}.xml" for name in ("plane", "notch", "side", "shape", "move_1", "move_2")]


def test_pictures_are_pictures_and_their_words_tell_nothing(quiz):
    for path in sorted((quiz / "items").glob("*.xml")):
        item = etree.parse(str(path)).getroot()
        right = item.find(f".//{{{ITEM}}}qti-correct-response/{{{ITEM}}}qti-value").text
        choices = [one.get("identifier") for one in item.iter(f"{{{ITEM}}}qti-simple-choice")]
        assert right in choices and len(set(choices)) == len(choices) >= 4, path.name
        images = list(item.iter(f"{{{ITEM}}}img"))
        assert len(images) == (2 if path.stem.startswith("move") else 1)
        for image in images:
            assert image.get("alt") and not any(word in image.get("alt").lower() for word in ("sagittal", "transverse", "coronal", "left", "right"))
            with Image.open(io.BytesIO((path.parent / image.get("src")).read_bytes())) as picture:
                assert picture.size == (640, 480)
                colours = picture.convert("L").getcolors(1 << 16)
                assert len(colours) > 64, "a picture and no blank"


@pytest.mark.parametrize("name", ["plane", "notch", "side", "shape", "move_1", "move_2"])
def test_an_independent_player_marks_them(page, host, quiz, name):
    host.content = quiz
    host.pages["/player.html"] = (HERE / "player.html").read_text(encoding="utf-8")
    text = (quiz / f"items/{name}.xml").read_text(encoding="utf-8")
    item = etree.fromstring(text.encode())
    right = item.find(f".//{{{ITEM}}}qti-correct-response/{{{ITEM}}}qti-value").text
    choices = [one.get("identifier") for one in item.iter(f"{{{ITEM}}}qti-simple-choice")]
    wrong = next(one for one in choices if one != right)
    points = SET["questions"][1]["points"] if name == "notch" else 1
    for answer, score in ((right, points), (wrong, 0)):
        page.goto(f"{host.url}/player.html")
        page.wait_for_function("window.ready")
        shown = text.replace("../pictures/", "/content/pictures/")
        page.evaluate("(xml) => { document.querySelector('item-container').itemXML = xml; }", shown)
        choice = page.locator(f'qti-simple-choice[identifier="{answer}"]')
        choice.wait_for()
        assert page.locator("qti-simple-choice").count() == len(choices)
        choice.click()
        found = page.evaluate(
            """() => {
              const container = document.querySelector('item-container');
              const item = (container.shadowRoot ?? container).querySelector('qti-assessment-item');
              item.processResponse();
              return Object.fromEntries(item.variables.map((one) => [one.identifier, one.value]));
            }"""
        )
        assert found["RESPONSE"] == answer, found
        assert float(found["SCORE"]) == score, found
