"""Rows, columns and letters against nibabel, highdicom, pydicom and SimpleITK.

nibabel's axis codes name the side an axis points to, with S and I for head and foot, in a frame with
x to the right and y to the front (RAS); so do SimpleITK's three-letter orientations in DICOM's frame.
"""

import itertools

import highdicom
import nibabel
import numpy
import pydicom
import pytest
import SimpleITK
from pydicom.dataset import FileMetaDataset
from pydicom.uid import ExplicitVRLittleEndian, MRImageStorage, generate_uid

import planeward

SEED = 48
COUNT = 500

RAS_FROM_LPS = numpy.diag([-1.0, -1.0, 1.0])
AXES = [tuple(s * (k == axis) for k in range(3)) for axis in range(3) for s in (1, -1)]

# All pairs of a notch and a beam along body axes.
PAIRS = [(n, b) for n, b in itertools.product(AXES, AXES) if numpy.dot(n, b) == 0]

# A letter of DICOM as nibabel and SimpleITK write it.
OTHER_LETTER = {"H": "S", "F": "I"}


def letters(text):
    return "".join(OTHER_LETTER.get(letter, letter) for letter in text)


def directions(answer, stack=1):
    """3 x 3 matrix of LPS columns: row, column, and the normal or its opposite."""
    return numpy.array(
        [answer["row"], answer["column"], [stack * c for c in answer["normal"]]]
    ).T


def affine(answer, stack=1):
    matrix = numpy.eye(4)
    matrix[:3, :3] = RAS_FROM_LPS @ directions(answer, stack)
    return matrix


def dominant(vector):
    axis = int(numpy.argmax(numpy.abs(vector)))
    return ("RL", "AP", "IS")[axis][int(vector[axis] > 0)]


@pytest.fixture(scope="module")
def arrangements():
    """Every notch and beam along body axes, with the mark at either side: each picture twice."""
    lines = [
        {"notch": n, "beam": b, "mark": mark} for n, b in PAIRS for mark in ("left", "right")
    ]
    answers = planeward.ask(lines)
    assert len(answers) == 48
    return answers


@pytest.fixture(scope="module")
def random_planes():
    generator = numpy.random.default_rng(SEED)
    vectors = generator.normal(size=(COUNT, 2, 3)).tolist()
    return planeward.ask([{"notch": n, "beam": b} for n, b in vectors])


def test_all_signed_axis_arrangements_against_nibabel(arrangements):
    """A picture fixes row and column; with slices stacked along the normal or against it all 48
    signed arrangements of three axes appear."""
    seen = set()
    for answer, stack in itertools.product(arrangements, (1, -1)):
        right, bottom = letters(answer["sides"]["right"]), letters(answer["sides"]["bottom"])
        along = dominant(numpy.array(answer["normal"]) * stack)
        codes = nibabel.aff2axcodes(affine(answer, stack))
        assert codes == (right, bottom, along)
        # The same as numbers: which RAS axis each image axis runs along, and which way.
        expected = []
        for letter in (right, bottom, along):
            axis = next(k for k, pair in enumerate(("LR", "PA", "IS")) if letter in pair)
            expected.append([axis, 1 if letter in "RAS" else -1])
        orientation = nibabel.io_orientation(affine(answer, stack))
        numpy.testing.assert_array_equal(orientation, expected)
        seen.add(codes)
    assert len(seen) == 48


def test_all_arrangements_against_simpleitk(arrangements):
    seen = set()
    orient = SimpleITK.DICOMOrientImageFilter.GetOrientationFromDirectionCosines
    for answer, stack in itertools.product(arrangements, (1, -1)):
        code = orient(directions(answer, stack).flatten().tolist())
        expected = letters(answer["sides"]["right"]) + letters(answer["sides"]["bottom"])
        assert code == expected + dominant(numpy.array(answer["normal"]) * stack)
        seen.add(code)
    assert len(seen) == 48


def test_dominant_letters_of_oblique_planes_against_nibabel(random_planes):
    """Nearest axis for each image axis, for planes whose axes each have one clear nearest."""
    compared = 0
    for answer in random_planes:
        # Where every largest component exceeds 0.8 the nearest axes are three different ones.
        if numpy.abs(directions(answer)).max(axis=0).min() < 0.8:
            continue
        compared += 1
        codes = nibabel.aff2axcodes(affine(answer))
        assert codes[0] == letters(answer["sides"]["right"][0])
        assert codes[1] == letters(answer["sides"]["bottom"][0])
        assert codes[2] == dominant(answer["normal"])
    assert compared > 50


def test_patient_orientation_of_arrangements_against_highdicom(arrangements):
    for answer in arrangements:
        closest = highdicom.spatial.get_closest_patient_orientation(
            numpy.block([[directions(answer), numpy.zeros((3, 1))], [numpy.eye(4)[3:]]])
        )
        row, column = answer["patient_orientation"].split("\\")
        assert (row, column) == (closest[0].value, closest[1].value)


def test_patient_orientation_of_oblique_planes_against_highdicom(random_planes):
    compared = 0
    for answer in random_planes:
        if numpy.abs(directions(answer)).max(axis=0).min() < 0.8:
            continue
        compared += 1
        closest = highdicom.spatial.get_closest_patient_orientation(
            numpy.block([[directions(answer), numpy.zeros((3, 1))], [numpy.eye(4)[3:]]])
        )
        row, column = answer["patient_orientation"].split("\\")
        assert (row[0], column[0]) == (closest[0].value, closest[1].value)
    assert compared > 50


def letters_by_rule(vector):
    """DICOM PS3.3 C.7.6.1.1.1: most dominant direction first, refinements after it.

    Zero tolerance 0.0001 as in open-source implementations of the rule.
    """
    parts = [(abs(c), ("RL", "AP", "FH")[k][c > 0]) for k, c in enumerate(vector)]
    return "".join(letter for size, letter in sorted(parts, reverse=True) if size > 1e-4)


def test_patient_orientation_strings_by_the_rule(random_planes):
    for answer in random_planes:
        row, column = letters_by_rule(answer["row"]), letters_by_rule(answer["column"])
        assert answer["patient_orientation"] == f"{row}\\{column}"
        opposite = str.maketrans("RLAPHF", "LRPAFH")
        assert answer["sides"] == {
            "left": row.translate(opposite),
            "right": row,
            "top": column.translate(opposite),
            "bottom": column,
        }


def dicom_slice(answer, path):
    """A one-slice file of 5 x 4 pixels with the answer's orientation, refused by pydicom if any
    attribute breaks its value representation."""
    meta = FileMetaDataset()
    meta.MediaStorageSOPClassUID = MRImageStorage
    meta.MediaStorageSOPInstanceUID = generate_uid()
    meta.TransferSyntaxUID = ExplicitVRLittleEndian
    data = pydicom.Dataset()
    data.file_meta = meta
    data.SOPClassUID = MRImageStorage
    data.SOPInstanceUID = meta.MediaStorageSOPInstanceUID
    data.Modality = "MR"
    data.PatientOrientation = answer["patient_orientation"].split("\\")
    cosines = [*answer["row"], *answer["column"]]
    data.ImageOrientationPatient = [f"{c:.12f}"[:16] for c in cosines]
    data.ImagePositionPatient = ["10", "-20", "30"]
    data.PixelSpacing = ["2", "0.5"]
    data.SliceThickness = "1"
    data.Rows, data.Columns = 4, 5
    data.SamplesPerPixel = 1
    data.PhotometricInterpretation = "MONOCHROME2"
    data.BitsAllocated, data.BitsStored, data.HighBit = 16, 16, 15
    data.PixelRepresentation = 0
    data.PixelData = numpy.arange(20, dtype="<u2").tobytes()
    data.save_as(path, enforce_file_format=True)


def test_image_orientation_through_files(random_planes, arrangements, tmp_path):
    """pydicom writes the orientation, SimpleITK (GDCM) reads it: its directions are row, column and
    normal, and its pixel places are DICOM's."""
    before = pydicom.config.settings.writing_validation_mode
    pydicom.config.settings.writing_validation_mode = pydicom.config.RAISE
    try:
        for answer in [*random_planes[:60], *arrangements]:
            path = tmp_path / "slice.dcm"
            dicom_slice(answer, path)
            image = SimpleITK.ReadImage(str(path))
            read = numpy.array(image.GetDirection()).reshape(3, 3)
            numpy.testing.assert_allclose(read, directions(answer), atol=1e-9)
            place = image.TransformIndexToPhysicalPoint((3, 2, 0))
            expected = (
                numpy.array([10, -20, 30])
                + numpy.array(answer["row"]) * 3 * 0.5
                + numpy.array(answer["column"]) * 2 * 2
            )
            numpy.testing.assert_allclose(place, expected, atol=1e-9)
            stored = pydicom.dcmread(path).PatientOrientation
            assert "\\".join(stored) == answer["patient_orientation"]
    finally:
        pydicom.config.settings.writing_validation_mode = before
