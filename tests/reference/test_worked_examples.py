"""Twenty worked examples: mark at image left, apex at the top.

Rows, columns, normals and Patient Orientation were computed from the definitions of DICOM PS3.3
C.7.6.1.1.1 and C.7.6.2.1.1, before this program was written; the axis codes are what nibabel 5.4.2 returned for the affine with
columns row, column and normal turned from LPS to RAS. The last test asks the installed nibabel again.
"""

import math

import nibabel
import numpy
import pytest

import planeward

H, F, A, P = (0, 0, 1), (0, 0, -1), (0, -1, 0), (0, 1, 0)
L, R = (1, 0, 0), (-1, 0, 0)

# Vectors of the table have three decimals.
VECTOR = 6e-4


def sine(degrees):
    return math.sin(math.radians(degrees))


def cosine(degrees):
    return math.cos(math.radians(degrees))


def turned(degrees):
    """Indicator on the front, turned counter-clockwise from twelve o'clock."""
    return (-sine(degrees), 0, cosine(degrees))


def to_head(degrees):
    """Beam from the front, tilted to the head."""
    return (0, cosine(degrees), sine(degrees))


# number: notch, beam, row, column, normal, nearest plane, degrees off, Patient Orientation, side the
# viewer stands on, nibabel's axis codes
EXAMPLES = {
    1: (R, P, (1, 0, 0), (0, 1, 0), (0, 0, 1), "transverse", 0, "L\\P", "F", "LPS"),
    2: (H, P, (0, 0, -1), (0, 1, 0), (1, 0, 0), "sagittal", 0, "F\\P", "R", "IPL"),
    3: (F, P, (0, 0, 1), (0, 1, 0), (-1, 0, 0), "sagittal", 0, "H\\P", "L", "SPR"),
    4: (L, P, (-1, 0, 0), (0, 1, 0), (0, 0, -1), "transverse", 0, "R\\P", "H", "RPI"),
    5: (H, L, (0, 0, -1), (1, 0, 0), (0, -1, 0), "coronal", 0, "F\\L", "P", "ILA"),
    6: (H, R, (0, 0, -1), (-1, 0, 0), (0, 1, 0), "coronal", 0, "F\\R", "A", "IRP"),
    7: (P, L, (0, -1, 0), (1, 0, 0), (0, 0, 1), "transverse", 0, "A\\L", "F", "ALS"),
    8: (A, R, (0, 1, 0), (-1, 0, 0), (0, 0, 1), "transverse", 0, "P\\R", "F", "PRS"),
    10: (R, A, (1, 0, 0), (0, -1, 0), (0, 0, -1), "transverse", 0, "L\\A", "H", "LAI"),
    11: (L, A, (-1, 0, 0), (0, -1, 0), (0, 0, 1), "transverse", 0, "R\\A", "F", "RAS"),
    12: (R, F, (1, 0, 0), (0, 0, -1), (0, 1, 0), "coronal", 0, "L\\F", "A", "LIP"),
    13: (A, F, (0, 1, 0), (0, 0, -1), (-1, 0, 0), "sagittal", 0, "P\\F", "L", "PIR"),
    14: (A, H, (0, 1, 0), (0, 0, 1), (1, 0, 0), "sagittal", 0, "P\\H", "R", "PSL"),
    16: (R, to_head(10), (1, 0, 0), (0, 0.985, 0.174), (0, -0.174, 0.985), "transverse", 10,
         "L\\PH", "F", "LPS"),
    17: (R, to_head(20), (1, 0, 0), (0, 0.94, 0.342), (0, -0.342, 0.94), "transverse", 20,
         "L\\PH", "F", "LPS"),
    20: (R, to_head(40), (1, 0, 0), (0, 0.766, 0.643), (0, -0.643, 0.766), "transverse", 40,
         "L\\PH", "F", "LPS"),
    21: (turned(15), P, (0.259, 0, -0.966), (0, 1, 0), (0.966, 0, 0.259), "sagittal", 15,
         "FL\\P", "R", "IPL"),
    22: (turned(30), P, (0.5, 0, -0.866), (0, 1, 0), (0.866, 0, 0.5), "sagittal", 30,
         "FL\\P", "R", "IPL"),
    23: (turned(40), P, (0.643, 0, -0.766), (0, 1, 0), (0.766, 0, 0.643), "sagittal", 40,
         "FL\\P", "R", "IPL"),
    25: ((0, -sine(20), cosine(20)), to_head(20), (0, 0.342, -0.94), (0, 0.94, 0.342), (1, 0, 0),
         "sagittal", 0, "FP\\PH", "R", "IPL"),
}

def side(vector):
    """The patient side a vector points to most."""
    axis = max(range(3), key=lambda k: abs(vector[k]))
    return ("RL", "AP", "FH")[axis][vector[axis] > 0]


@pytest.fixture(scope="module")
def answers():
    lines = [{"notch": row[0], "beam": row[1]} for row in EXAMPLES.values()]
    return dict(zip(EXAMPLES, planeward.ask(lines)))


@pytest.mark.parametrize("number", EXAMPLES)
def test_example(number, answers):
    answer = answers[number]
    _, _, row, column, normal, plane, off, orientation, viewer, _ = EXAMPLES[number]
    assert answer["row"] == pytest.approx(row, abs=VECTOR)
    assert answer["column"] == pytest.approx(column, abs=VECTOR)
    assert answer["normal"] == pytest.approx(normal, abs=VECTOR)
    assert answer["angles_deg"][plane] == pytest.approx(off, abs=1e-6)
    assert min(answer["angles_deg"].values()) == answer["angles_deg"][plane]
    # The usual tolerance is 20 degrees, the limit itself included.
    assert answer["plane"] == (plane if off <= 20 else "oblique")
    assert answer["patient_orientation"] == orientation
    assert side([-c for c in answer["normal"]]) == viewer


@pytest.mark.parametrize("number", EXAMPLES)
def test_axis_codes(number, answers):
    answer = answers[number]
    affine = numpy.eye(4)
    columns = [answer["row"], answer["column"], answer["normal"]]
    affine[:3, :3] = numpy.diag([-1, -1, 1]) @ numpy.array(columns).T
    assert "".join(nibabel.aff2axcodes(affine)) == EXAMPLES[number][-1]


def test_turning_the_indicator_round_keeps_the_plane(answers):
    """Examples 2 and 3."""
    one, other = answers[2], answers[3]
    assert one["plane"] == other["plane"]
    assert one["sides"]["left"] == other["sides"]["right"]


def test_a_rocked_plane_is_named_by_its_normal(answers):
    """Example 25: a rule that looks at rows and columns would call it tilted by 20 degrees."""
    affine = numpy.eye(4)
    columns = [answers[25]["row"], answers[25]["column"], answers[25]["normal"]]
    affine[:3, :3] = numpy.diag([-1, -1, 1]) @ numpy.array(columns).T
    tilted = numpy.degrees(nibabel.affines.obliquity(affine)).max()
    assert tilted == pytest.approx(20, abs=1e-6)
    assert answers[25]["plane"] == "sagittal"
    assert answers[25]["angles_deg"]["sagittal"] == pytest.approx(0, abs=1e-6)
