"""Exercise sets and results against general-purpose libraries: JSON Schema, zlib, scipy."""

import base64
import copy
import csv
import io
import json
import pathlib
import random
import re
import zlib

import jsonschema
import numpy as np
import pytest
from scipy import stats

from conftest import ROOT, planeward

SCHEMAS = ROOT / "crates/course/schemas"
FULL = json.loads((ROOT / "crates/course/tests/data/full-set.json").read_text(encoding="utf-8"))
# Damage at these places is noticed by the program alone: a schema cannot compare names, add counts up, or look into a
# vocabulary.
BEYOND = ("vocabulary", "no other question has", "in the whole set")


def validator(name: str):
    schema = json.loads((SCHEMAS / name).read_text(encoding="utf-8"))
    kind = jsonschema.validators.validator_for(schema)
    kind.check_schema(schema)
    return kind(schema)


def places(value, path=()):
    yield path
    children = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    for key, child in children:
        yield from places(child, (*path, key))


def damaged(path, change):
    copied = copy.deepcopy(FULL)
    if not path:
        return change
    place = copied
    for key in path[:-1]:
        place = place[key]
    if change is REMOVED:
        del place[path[-1]]
    else:
        place[path[-1]] = change
    return copied


REMOVED = object()
CHANGES = [REMOVED, True, -1, 0.5, 1e9, "x", "", "x" * 5000, [], {}, [7]]


def test_schema_and_program_agree_about_every_damage(tmp_path):
    """Every value of the full example is replaced by every one of the changes: both accept or both refuse."""
    rules = validator("set-1.json")
    assert rules.is_valid(FULL)
    cases = [(path, change) for path in places(FULL) for change in CHANGES if path or change is not REMOVED]
    folder = tmp_path / "sets"
    folder.mkdir()
    for number, (path, change) in enumerate(cases):
        (folder / f"{number:05}.json").write_text(json.dumps(damaged(path, change)), encoding="utf-8")
    out = planeward("check", "--form-only", folder, status=1)
    said = {}
    for line in out.splitlines():
        name, text = re.fullmatch(r".*/(\d+)\.json: (.*)", line).groups()
        if not text.startswith("note:"):
            said.setdefault(int(name), []).append(text)
    refused = 0
    for number, (path, change) in enumerate(cases):
        valid = rules.is_valid(damaged(path, change))
        good = said[number] == ["good"]
        refused += not good
        if valid and not good and all(any(word in text for word in BEYOND) for text in said[number]):
            continue
        assert valid == good, f"{path} = {change!r}: the schema says {valid}, the program {said[number]}"
    assert len(cases) > 1500 and refused > 800


@pytest.mark.parametrize("name", sorted(path.name for path in SCHEMAS.glob("*.json")))
def test_schemas_are_schemas(name):
    assert validator(name).schema["$id"].startswith("urn:planeward:schema:")


def test_a_link_is_plain_deflate(tmp_path):
    """Python's zlib reads what stands in a link, and the program reads what zlib writes."""
    source = tmp_path / "set.json"
    source.write_text(json.dumps(FULL), encoding="utf-8")
    out = planeward("share", source)
    code = re.search(r"^#s1\.(\S+)$", out, re.M).group(1)
    data = base64.urlsafe_b64decode(code + "=" * (-len(code) % 4))
    dictionary = (ROOT / "crates/course/src/share/dictionary.txt").read_bytes()
    packed, check = data[:-4], int.from_bytes(data[-4:], "little")
    unpacked = zlib.decompressobj(-15, zdict=dictionary).decompress(packed)
    assert zlib.crc32(unpacked) == check
    assert json.loads(unpacked)["title"] == FULL["title"]
    best = zlib.compressobj(9, zlib.DEFLATED, -15, 9, zlib.Z_FIXED, dictionary)
    theirs = len(best.compress(unpacked) + best.flush())
    assert len(packed) <= theirs * 1.05, "as small as zlib makes it with the same codes"
    assert 'title="Orientation week"' in out and "<iframe" in out and "<planeward-view" in out


def result(title, answers, number, **more):
    """A result file; its check sum is made here by the rule that the schema states."""
    items = [
        {"id": f"q{at + 1}", "kind": "side", "points": 1, "outcome": outcome(score), "score": score, "first_score": score, "answers": [f"a{score}"] if score is not None else [], "correct": "a1", "hints": 0, "latency_ms": 1000 * (at + 1)}
        for at, score in enumerate(answers)
    ]
    for item in items:
        if item["score"] is None:
            item["score"] = item["first_score"] = 0
    value = {"format": "planeward-result", "version": 1, "program": "test", "title": title, "set": "0123456789abcdef", "seed": 1, "attempt": 1, "started": f"2026-01-01T10:{number // 60:02}:{number % 60:02}Z", "items": items, **more}
    text = json.dumps(value, separators=(",", ":"), ensure_ascii=False)
    value["checksum"] = f"crc32:{zlib.crc32(text.encode()):08x}"
    return value


def outcome(score):
    return "unanswered" if score is None else {1: "right", 0: "wrong"}.get(score, "partly")


def merged(tmp_path, rows, *arguments):
    folder = tmp_path / "results"
    folder.mkdir(exist_ok=True)
    rules = validator("result-1.json")
    for number, row in enumerate(rows):
        value = result("Table", row, number)
        rules.validate(value)
        (folder / f"{number:03}.json").write_text(json.dumps(value), encoding="utf-8")
    [one] = json.loads(planeward("results", "--json", *arguments, folder))["sets"]
    return one


def alpha(table):
    k = table.shape[1]
    return k / (k - 1) * (1 - table.var(axis=0, ddof=1).sum() / table.sum(axis=1).var(ddof=1))


@pytest.mark.parametrize("seed", range(6))
def test_statistics_are_those_of_scipy(tmp_path, seed):
    draw = random.Random(seed)
    learners, items = draw.choice([(12, 5), (40, 9), (25, 3)])
    skill = [draw.gauss(0, 1) for _ in range(learners)]
    scores = [0, 0.5, 1] if seed % 2 else [0, 1]
    table = np.array([[draw.choice(scores) if draw.random() < 0.3 else scores[-1] * (s + draw.gauss(0, 1) > 0) for _ in range(items)] for s in skill], float)
    found = merged(tmp_path, [[int(x) if x in (0, 1) else x for x in row] for row in table])
    close = {"rel": 1e-9, "abs": 1e-9}
    assert found["alpha"] == pytest.approx(alpha(table), **close)
    assert found["alpha_pairwise"] == pytest.approx(alpha(table), **close)
    assert found["kr20"] == bool(np.isin(table, [0, 1]).all())
    total = table.sum(axis=1)
    order = np.argsort(-total, kind="stable")
    size = max(1, int(learners * 0.27 + 0.5))
    for at, item in enumerate(found["items"]):
        own = table[:, at]
        assert item["difficulty"] == pytest.approx(own.mean(), **close)
        assert item["point_biserial"] == pytest.approx(stats.pearsonr(own, total)[0], **close)
        if seed % 2 == 0:
            assert item["point_biserial"] == pytest.approx(stats.pointbiserialr(own, total)[0], **close)
        assert item["corrected"] == pytest.approx(stats.pearsonr(own, total - own)[0], **close)
        assert item["alpha_without"] == pytest.approx(alpha(np.delete(table, at, axis=1)), **close)
        assert item["upper_lower"] == pytest.approx(own[order[:size]].mean() - own[order[-size:]].mean(), **close)
    assert found["standard_error"] == pytest.approx(total.std(ddof=1) * (1 - alpha(table)) ** 0.5, **close)


def test_gaps_are_left_out_pair_by_pair(tmp_path):
    draw = random.Random(3)
    rows = [[None if draw.random() < 0.15 else int(draw.gauss(0, 1) + s > 0) for _ in range(5)] for s in (draw.gauss(0, 1) for _ in range(30))]
    found = merged(tmp_path, rows)
    table = np.ma.masked_invalid(np.array([[np.nan if x is None else x for x in row] for row in rows], float))
    covariance = np.ma.cov(table, rowvar=False, ddof=1, allow_masked=True)
    pairs = np.array([[pair_covariance(rows, i, j) for j in range(5)] for i in range(5)])
    assert covariance.shape == pairs.shape
    k = 5
    assert found["alpha_pairwise"] == pytest.approx(k / (k - 1) * (1 - np.trace(pairs) / pairs.sum()), rel=1e-9)
    whole = np.array([row for row in rows if None not in row], float)
    assert found["complete"] == len(whole)
    assert found["alpha"] == pytest.approx(alpha(whole), rel=1e-9)
    for at, item in enumerate(found["items"]):
        given = [row[at] for row in rows if row[at] is not None]
        assert item["answered"] == len(given) and item["difficulty"] == pytest.approx(np.mean(given))


def pair_covariance(rows, i, j):
    both = [(row[i], row[j]) for row in rows if row[i] is not None and row[j] is not None]
    a, b = np.array(both, float).T
    return np.cov(a, b, ddof=1)[0, 1]


def test_tables_for_spreadsheets_and_files_that_do_not_belong(tmp_path):
    folder = tmp_path / "results"
    folder.mkdir()
    for number, row in enumerate([[1, 0], [1, 1], [0, 1]]):
        value = result("Table", row, number, label="=1+1")
        del value["checksum"]
        value["label"] = f"=cmd|' /C calc'!A{number}"
        text = json.dumps(value, separators=(",", ":"), ensure_ascii=False)
        value["checksum"] = f"crc32:{zlib.crc32(text.encode()):08x}"
        (folder / f"{number}.json").write_text(json.dumps(value, indent=3), encoding="utf-8")
    (folder / "foreign.json").write_text('{"a": 1}', encoding="utf-8")
    cut = (folder / "1.json").read_bytes()[:-30]
    (folder / "cut.json").write_bytes(cut)
    items, rows = tmp_path / "items.csv", tmp_path / "rows.csv"
    out = planeward("results", "--items-csv", items, "--rows-csv", rows, folder, status=1)
    assert "foreign.json: it is no result file of Planeward" in out and "cut.json: it stops in the middle" in out
    assert "Fewer than 30 learners" in out
    text = rows.read_bytes()
    assert text.startswith(b"\xef\xbb\xbf") and text.count(b"\r\n") == text.count(b"\n") == 7
    table = list(csv.DictReader(io.StringIO(text.decode("utf-8-sig"), newline="")))
    assert [row["item"] for row in table] == ["q1", "q2"] * 3
    assert all(row["label"].startswith("'=cmd") for row in table)
    assert [row["score"] for row in table] == ["1", "0", "1", "1", "0", "1"]
    figures = list(csv.DictReader(io.StringIO(items.read_text(encoding="utf-8-sig"), newline="")))
    assert [row["difficulty"] for row in figures] == ["0.6667", "0.6667"]
    planeward("results", folder / "foreign.json", status=2)


def test_a_set_is_held_against_its_body(tmp_path):
    sets = {
        "good": [{"id": "a", "kind": "plane_from_picture", "view": {"window": "sagittal_right_ivc"}}],
        "window": [{"id": "a", "kind": "side", "view": {"window": "nowhere"}}],
        "structure": [{"id": "a", "kind": "axis", "structure": "third_kidney", "view": {"window": "transverse_aorta_mid"}}],
        "transducer": [{"id": "a", "kind": "side", "view": {"window": "transverse_aorta_mid", "transducer": "torch"}}],
        "impossible": [{"id": "a", "draw": {"kinds": ["plane_from_picture"], "count": 1, "plane": "coronal", "approach": "front"}}],
    }
    for name, questions in sets.items():
        value = {"format": "planeward-set", "version": 1, "title": name, "seed": 3, "questions": questions}
        (tmp_path / f"{name}.json").write_text(json.dumps(value), encoding="utf-8")
    acquired = {
        "list": {"list": "everything"},
        "subject": {"views": [{"subject": "third_kidney", "plane": "sagittal"}]},
        "segment": {"views": [{"subject": "aorta", "segment": "sideways"}]},
        "lists": {"list": "aorta"},
    }
    for name, wanted in acquired.items():
        value = {"format": "planeward-set", "version": 1, "title": name, "acquire": wanted}
        (tmp_path / f"{name}.json").write_text(json.dumps(value), encoding="utf-8")
    said = planeward("check", tmp_path, status=1)
    for name, words in {
        "good": "good",
        "lists": "good",
        "list": 'acquire: there is no list of pictures "everything"',
        "subject": 'acquire: the body "adult_female" has no structure "third_kidney"',
        "segment": 'acquire: the structure "aorta" has no part "sideways"',
        "window": 'question a: the body "adult_female" has no window "nowhere"',
        "structure": 'question a: the body "adult_female" has no structure "third_kidney"',
        "transducer": 'question a: there is no transducer "torch"',
        "impossible": "question a_1: a coronal plane cannot be had from the front: the plane must contain the beam",
    }.items():
        assert f"{name}.json: {words}\n" in said, said
