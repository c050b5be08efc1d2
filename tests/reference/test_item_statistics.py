"""Item statistics of many result files: published figures, and numpy and scipy on tables of chance.

The result files are written here and not by the program, check sum included, so that the format is checked as well.
"""

import json
import math
import zlib

import numpy
import planeward
import pytest
from scipy import stats

# Ten students, ten items: K. Wuensch, StatHelp/KR20 (East Carolina University).
PUBLISHED = "1111110110 1011011101 1111011001 0010001000 0000010010 1110111111 1101110111 1111111101 0101111101 1101101110"

# Twelve learners, eleven items, four gaps: the set `cronbach_wide_missing` of pingouin 0.7.0 (from real-statistics.com).
WITH_GAPS = (
    "11111111111 11111111010 -011-111100 11101101100 11111000100 01-01111000 "
    "11110010000 11111000000 01011000010 10010100-00 11100000000 10010000000"
)

# Agreed upon by scipy 1.17.1, pingouin 0.7.0 and girth 0.8.0.
SMALL = "11110 11100 11011 10100 01000 11111"

# Figures printed with all digits of a double: another order of the sums may change the last two.
DOUBLE = 1e-14
# Figures printed with ten digits.
TEN_DIGITS = 0.5e-10
FOUR_DIGITS = 0.5e-4
# The same sums in another order, over at most some hundred numbers of size one.
SUMS = 1e-10


def table(rows: str):
    """Rows of scores; a gap is nan."""
    return numpy.array([[math.nan if letter == "-" else float(letter) for letter in row] for row in rows.split()])


def compact(value) -> str:
    return json.dumps(value, ensure_ascii=False, separators=(",", ":"))


def number(value: float):
    """As JSON writes it: a whole number without a point."""
    return int(value) if value == int(value) else value


def result_file(row, learner: int) -> str:
    """One learner's file: an item that was not answered is a gap."""
    items = []
    for at, score in enumerate(row):
        gap = math.isnan(score)
        value = 0 if gap else number(float(score))
        items.append(
            {
                "id": f"q{at + 1}",
                "kind": "side",
                "points": 1,
                "outcome": "unanswered" if gap else "right" if value == 1 else "wrong" if value == 0 else "partly",
                "score": value,
                "first_score": value,
                "answers": [] if gap else ["a" if value == 1 else "b"],
                "correct": "a",
                "latency_ms": 1000 * (learner + 1),
            }
        )
    tree = {
        "format": "planeward-result",
        "version": 1,
        "title": "A table",
        "set": "0123456789abcdef",
        "seed": 1,
        "attempt": 1,
        "started": f"2026-11-25T09:{learner // 60:02}:{learner % 60:02}+01:00",
        "items": items,
    }
    tree["checksum"] = f"crc32:{zlib.crc32(compact(tree).encode()):08x}"
    return json.dumps(tree, ensure_ascii=False, indent=1)


def report(folder, scores):
    """What the command says about these learners."""
    for learner, row in enumerate(scores):
        (folder / f"{learner:03}.json").write_text(result_file(row, learner), encoding="utf-8")
    said = json.loads(planeward.run(["results", "--json", str(folder)]))
    assert said["left"] == []
    (group,) = said["sets"]
    assert len(group["files"]) == len(scores)
    return group


def check(what, found, wanted, tolerance):
    if wanted is None:
        assert found is None, f"{what}: {found}, and there is no such figure"
        return
    assert found is not None and abs(found - wanted) <= tolerance, f"{what}: {found}, not {wanted}"


def check_items(group, field, wanted, tolerance):
    for at, value in enumerate(wanted):
        check(f"{field} of item {at + 1}", group["items"][at][field], value, tolerance)


def test_a_published_table_of_ten_students(tmp_path):
    group = report(tmp_path, table(PUBLISHED))
    assert group["kr20"] and group["complete"] == 10
    check("KR-20", group["alpha"], 0.6963470320, TEN_DIGITS)
    check("pair-wise", group["alpha_pairwise"], 0.6963470320, TEN_DIGITS)
    check("standard error", group["standard_error"], 1.4037, FOUR_DIGITS)
    check("deviation", group["deviation_total"], 2.5473, FOUR_DIGITS)
    p = [0.7, 0.7, 0.6, 0.7, 0.6, 0.8, 0.7, 0.7, 0.5, 0.6]
    check_items(group, "difficulty", p, TEN_DIGITS)
    check("sum of p q", sum(item["difficulty"] * (1 - item["difficulty"]) for item in group["items"]), 2.18, TEN_DIGITS)
    check_items(group, "point_biserial", [0.7946, 0.7946, 0.2027, 0.6140, 0.7095, 0.4345, 0.1625, 0.7946, 0.0828, 0.6251], FOUR_DIGITS)
    check_items(group, "corrected", [0.7059, 0.7059, 0.0, 0.4736, 0.5839, 0.2861, -0.0274, 0.7059, -0.1236, 0.4759], FOUR_DIGITS)
    check_items(group, "alpha_without", [0.6084, 0.6084, 0.7353, 0.6525, 0.6290, 0.6846, 0.7355, 0.6084, 0.7564, 0.6505], FOUR_DIGITS)
    third = [2 / 3] * 3 + [1 / 3] + [2 / 3] * 2 + [0, 2 / 3, 0, 2 / 3]
    check_items(group, "upper_lower", third, TEN_DIGITS)
    # Two more published figures follow from mean, deviation and alpha: KR-21, and Spearman and Brown's of twice the length.
    whole = group["deviation_total"] ** 2 * 9 / 10
    mean = group["mean_total"]
    check("KR-21", 10 / 9 * (1 - mean * (10 - mean) / (10 * whole)), 0.6841704718, TEN_DIGITS)
    check("twice the length", 2 * group["alpha"] / (1 + group["alpha"]), 0.8209959623, TEN_DIGITS)


def test_published_alphas_of_a_table_with_gaps(tmp_path):
    group = report(tmp_path, table(WITH_GAPS))
    assert group["kr20"] and group["complete"] == 9
    # As the documentation of pingouin prints them, which says that it was tested against the package psych of R.
    check("pair-wise", group["alpha_pairwise"], 0.732660835214447, DOUBLE)
    check("list-wise", group["alpha"], 0.8016949152542373, DOUBLE)
    assert [item["answered"] for item in group["items"]] == [11, 12, 11, 12, 11, 12, 12, 12, 11, 12, 12]


def test_a_small_table_that_three_libraries_agree_on(tmp_path):
    group = report(tmp_path, table(SMALL))
    check("alpha", group["alpha"], 0.5769230769, TEN_DIGITS)
    check("variance", group["deviation_total"] ** 2, 2.1666667, 0.5e-7)
    check_items(group, "difficulty", [0.8333, 0.8333, 0.6667, 0.5, 0.3333], FOUR_DIGITS)
    check_items(group, "point_biserial", [0.7211, 0.3883, 0.3508, 0.8682, 0.7016], FOUR_DIGITS)
    check_items(group, "corrected", [0.5394, 0.1195, 0.0, 0.7071, 0.4417], FOUR_DIGITS)
    check_items(group, "alpha_without", [0.4242, 0.6190, 0.7018, 0.2500, 0.4553], FOUR_DIGITS)


def correlation(a, b):
    """Pearson's, or none where one side does not vary."""
    return None if numpy.ptp(a) == 0 or numpy.ptp(b) == 0 else float(stats.pearsonr(a, b).statistic)


def alpha(covariance):
    k = len(covariance)
    return None if k < 2 or not covariance.sum() > 0 else float(k / (k - 1) * (1 - numpy.trace(covariance) / covariance.sum()))


def pairwise(scores):
    """Covariance of every pair of items over those who answered both."""
    k = scores.shape[1]
    out = numpy.empty((k, k))
    for i in range(k):
        for j in range(k):
            both = ~numpy.isnan(scores[:, i]) & ~numpy.isnan(scores[:, j])
            out[i, j] = numpy.cov(scores[both, i], scores[both, j])[0, 1]
    return out


@pytest.mark.parametrize("seed", range(6))
def test_tables_of_chance_as_numpy_and_scipy_have_them(tmp_path, seed):
    chance = numpy.random.default_rng(seed)
    learners, items = int(chance.integers(12, 60)), int(chance.integers(2, 12))
    able = chance.normal(size=(learners, 1)) - chance.normal(size=(1, items))
    shares = (0, 1) if seed % 2 else (0, 0.25, 0.5, 1)
    scores = numpy.array(shares)[numpy.clip((1 / (1 + numpy.exp(-able)) + chance.uniform(-0.5, 0.5, able.shape)) * len(shares), 0, len(shares) - 1).astype(int)]
    scores = numpy.where(chance.uniform(size=scores.shape) < 0.03, math.nan, scores.astype(float))
    group = report(tmp_path, scores)
    full = scores[~numpy.isnan(scores).any(axis=1)]
    assert 2 < len(full) == group["complete"] < learners, "a table with gaps"
    totals = full.sum(axis=1)
    check("alpha", group["alpha"], alpha(numpy.cov(full, rowvar=False)), SUMS)
    check("pair-wise", group["alpha_pairwise"], alpha(pairwise(scores)), SUMS)
    check("mean", group["mean_total"], float(totals.mean()), SUMS)
    check("deviation", group["deviation_total"], float(totals.std(ddof=1)), SUMS)
    order = numpy.argsort(-totals, kind="stable")
    size = max(1, math.floor(0.27 * len(full) + 0.5))
    for at, item in enumerate(group["items"]):
        own = full[:, at]
        given = scores[~numpy.isnan(scores[:, at]), at]
        assert item["answered"] == len(given)
        check("difficulty", item["difficulty"], float(given.mean()), SUMS)
        check("point-biserial", item["point_biserial"], correlation(own, totals), SUMS)
        check("corrected", item["corrected"], correlation(own, totals - own), SUMS)
        check("upper and lower", item["upper_lower"], float(own[order[:size]].mean() - own[order[-size:]].mean()), SUMS)
        check("alpha without", item["alpha_without"], alpha(numpy.atleast_2d(numpy.cov(numpy.delete(full, at, axis=1), rowvar=False))), SUMS)
