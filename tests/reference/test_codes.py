"""Codes of structures against the concept tables of DICOM PS3.16 as pydicom publishes them."""

import tomllib

import pytest
from pydicom.sr._cid_dict import cid_concepts
from pydicom.sr._concepts_dict import concepts

import planeward
from solids import BODIES, solids

SIDES = {"left": "7771000", "right": "24028007"}


def table():
    with (planeward.ROOT / "models/codes.toml").open("rb") as file:
        return tomllib.load(file)


def published():
    """Meanings and context groups by code value."""
    return {
        value: (keyword, meaning.removesuffix(" (body structure)"), groups)
        for keyword, rows in concepts["SCT"].items()
        for value, (meaning, groups) in rows.items()
    }


def test_every_code_is_published_with_its_meaning():
    known = published()
    assert len(table()) > 100
    wrong = [
        (name, row)
        for name, row in table().items()
        if known.get(row["value"], ("", "", []))[1] != row["meaning"]
    ]
    assert not wrong


def test_context_groups_hold_their_concepts():
    known = published()
    for name, row in table().items():
        keyword, _, groups = known[row["value"]]
        for group in row.get("groups", []):
            assert group in groups, name
            assert keyword in cid_concepts[group]["SCT"], name


def test_the_sides_are_concepts_of_context_group_244():
    known = published()
    for side, value in SIDES.items():
        keyword, meaning, _ = known[value]
        assert meaning.lower() == side and keyword in cid_concepts[244]["SCT"]


@pytest.mark.parametrize("body", BODIES)
def test_structures_carry_the_codes_of_the_table(body):
    rows = table()
    carried = 0
    for name, entry in solids(body).structures.items():
        side, _, rest = name.partition("_")
        if name in rows:
            wanted = f"SCT {rows[name]['value']}"
        elif side in SIDES and side == entry["side"] and rest in rows:
            wanted = f"SCT {rows[rest]['value']}; side SCT {SIDES[side]}"
        else:
            assert entry.get("code") is None or entry["code"]["from_memory"], name
            continue
        carried += 1
        assert entry["code"] == {"text": wanted, "from_memory": False}, name
    assert carried >= 15


def test_the_command_lists_the_codes():
    for body in planeward.listing("bodies"):
        structures = solids(body["id"]).structures
        for line in body["structures"]:
            code = structures[line["id"]].get("code") or {}
            assert line["code"] == code.get("text")
            assert line["code_from_memory"] == code.get("from_memory")
