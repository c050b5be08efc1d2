"""The DICOM files, read by other people's libraries and held against the standard by dciodvfy."""

import io
import json
import subprocess

import highdicom
import numpy
import planeward
import pydicom
import pytest
from pydicom.sr.codedict import codes
from pydicom.sr.coding import Code
from pydicom.uid import ExplicitVRLittleEndian, UltrasoundImageStorage

TIME = "20261125094501+0100"
SAGITTAL_AORTA = {"body": "adult_female", "window": "sagittal_left_aorta_proximal"}

# One pose a kind of transducer, plane and body.
POSES = [
    SAGITTAL_AORTA,
    {"body": "adult_female", "window": "transverse_aorta_mid"},
    {"body": "adult_male", "window": "right_kidney_sagittal"},
    {"body": "adult_female", "window": "carotid_right_transverse"},
    {"body": "adult_female", "window": "parasternal_long_axis"},
    {"body": "adult_female", "contact_mm": [0, -110, 118], "rotation_deg": 315},
    {"body": "infant_head", "window": "head_midsagittal"},
    {"body": "adult_female", "contact_mm": [0, -110, 118], "apex": "bottom", "mark": "right"},
]


@pytest.fixture
def save(tmp_path):
    """Saves the picture of a pose; gives the file's path and what the command said."""
    count = iter(range(1000))

    def make(pose, *options, time=TIME):
        path = tmp_path / f"{next(count)}.dcm"
        said = planeward.run(["dicom", "--time", time, *options, str(path)], json.dumps(pose) + "\n")
        return path, json.loads(said)

    return make


@pytest.mark.parametrize("picture", ["grey", "section"])
@pytest.mark.parametrize("pose", POSES)
def test_dciodvfy_finds_no_error(save, pose, picture):
    path, _ = save(pose, "--picture", picture)
    done = subprocess.run(["dciodvfy", path], capture_output=True, text=True, check=False)
    said = done.stdout + done.stderr
    assert "USImage" in said, f"it was taken for another kind of object: {said}"
    assert "Error" not in said, said
    assert done.returncode == 0, said


def test_dciodvfy_sees_an_error(save):
    """The check above can fail: a file without Patient ID is found out."""
    path, _ = save(SAGITTAL_AORTA)
    data = pydicom.dcmread(path)
    del data.PatientID
    data.save_as(path)
    done = subprocess.run(["dciodvfy", path], capture_output=True, text=True, check=False)
    assert "Error" in done.stdout + done.stderr


@pytest.mark.parametrize("picture", ["grey", "section"])
@pytest.mark.parametrize("pose", POSES)
def test_pydicom_reads_what_the_command_says_of_the_pose(save, pose, picture):
    path, said = save(pose, "--picture", picture)
    [answer] = planeward.ask([pose])
    data = pydicom.dcmread(path)
    assert data.file_meta.TransferSyntaxUID == ExplicitVRLittleEndian
    assert data.SOPClassUID == data.file_meta.MediaStorageSOPClassUID == UltrasoundImageStorage
    assert data.SOPInstanceUID == data.file_meta.MediaStorageSOPInstanceUID == said["sop_instance_uid"]
    assert "\\".join(data.PatientOrientation) == answer["patient_orientation"]
    assert int(data.DepthOfScanField) == round(answer["depth_mm"])
    plane = {"sagittal": "30730003", "coronal": "81654009", "transverse": "62824007", "oblique": "21114003"}
    [view] = data.ViewCodeSequence
    assert (view.CodeValue, view.CodingSchemeDesignator) == (plane[answer["plane"]], "SCT")
    expected = ("MONOCHROME2", 1) if picture == "grey" else ("RGB", 3)
    assert (data.PhotometricInterpretation, data.SamplesPerPixel) == expected
    pixels = data.pixel_array
    assert pixels.shape[:2] == (data.Rows, data.Columns) == (480, 640)
    assert len(numpy.unique(pixels)) > 16, "the picture is not blank"
    assert pixels[0].max() == 0, "no words and no marks beside the field"
    for element in data.iterall():
        assert element.is_private is False and element.value is not None


def test_nobody_can_take_it_for_a_patient(save):
    path, _ = save(SAGITTAL_AORTA, "--annotation", "SAG AO PROX", "--structure", "aorta")
    data = pydicom.dcmread(path)
    assert str(data.PatientName).startswith("Teaching^") and data.PatientID.startswith("TEACHING-")
    assert data.PatientBirthDate == "" and data.ReferringPhysicianName == ""
    assert "Synthetic body" in data.PatientComments and "No person" in data.PatientComments
    assert data.QualityControlImage == "YES"
    assert data.BurnedInAnnotation == "NO" and data.RecognizableVisualFeatures == "NO"
    assert data.ImageComments.startswith("SAG AO PROX")


@pytest.mark.parametrize(
    ("body", "window", "structure", "code", "side"),
    [
        # The aorta lies left of the mid-line and is unpaired.
        ("adult_female", "sagittal_left_aorta_proximal", "aorta", "7832008", "U"),
        ("adult_female", "right_kidney_sagittal", "right_kidney", "64033007", "R"),
        ("adult_female", "thyroid_right_longitudinal", "right_thyroid_lobe", "29565003", "R"),
        ("adult_female", "groin_left_femoral_longitudinal", "left_common_femoral_artery", "181347005", "L"),
    ],
)
def test_anatomy_and_side(save, body, window, structure, code, side):
    path, _ = save({"body": body, "window": window}, "--structure", structure)
    data = pydicom.dcmread(path)
    [region] = data.AnatomicRegionSequence
    assert (region.CodeValue, region.CodingSchemeDesignator) == (code, "SCT")
    assert data.ImageLaterality == side
    # The codes are those of the standard's own context groups, as another library has them.
    named = (getattr(codes.SCT, name) for name in dir(codes.SCT))
    known = {concept.value for concept in named if isinstance(concept, Code)}
    assert code in known, f"{code} is in no context group of PS3.16"


def test_the_calibration_measures_the_body(save):
    """The depth of the field, measured on the pixels with the region's own figures; in colours, no tissue is black."""
    path, _ = save(SAGITTAL_AORTA, "--picture", "section")
    [answer] = planeward.ask([SAGITTAL_AORTA])
    data = pydicom.dcmread(path)
    [region] = data.SequenceOfUltrasoundRegions
    assert (region.RegionSpatialFormat, region.RegionDataType) == (1, 1)
    assert (region.PhysicalUnitsXDirection, region.PhysicalUnitsYDirection) == (3, 3), "cm"
    assert (region.RegionLocationMaxX1, region.RegionLocationMaxY1) == (data.Columns - 1, data.Rows - 1)
    lit = numpy.flatnonzero(data.pixel_array.max(axis=(1, 2)))
    deepest = lit[-1] - region.ReferencePixelY0
    depth_mm = 10 * (region.ReferencePixelPhysicalValueY + deepest * region.PhysicalDeltaY)
    # The lowest row of the arc is its middle, where the depth is measured; a row may be half covered.
    assert depth_mm == pytest.approx(answer["depth_mm"], abs=10 * region.PhysicalDeltaY)


@pytest.mark.parametrize(
    ("window", "kind", "code"),
    [
        ("sagittal_left_aorta_proximal", "CURVED LINEAR", "125253"),
        ("carotid_right_transverse", "LINEAR", "125252"),
        ("parasternal_long_axis", "SECTOR_PHASED", "125254"),
    ],
)
def test_the_transducer(save, window, kind, code):
    path, _ = save({"body": "adult_female", "window": window})
    data = pydicom.dcmread(path)
    assert data.TransducerType == kind
    [geometry] = data.TransducerGeometryCodeSequence
    assert (geometry.CodeValue, geometry.CodingSchemeDesignator) == (code, "DCM")


def test_times_and_identifiers(save):
    def read(*options, time=TIME):
        return pydicom.dcmread(save(SAGITTAL_AORTA, *options, time=time)[0])

    first = read("--examination", "7")
    assert (first.ContentDate, first.ContentTime) == ("20261125", "094501")
    assert first.TimezoneOffsetFromUTC == "+0100"
    west = read(time="20240229235959-0330")
    assert (west.StudyDate, west.StudyTime, west.TimezoneOffsetFromUTC) == ("20240229", "235959", "-0330")
    again, second, other = read("--examination", "7"), read("--examination", "7", "--number", "2"), read()
    assert again.SOPInstanceUID == first.SOPInstanceUID, "the same picture is the same object"
    assert second.SOPInstanceUID != first.SOPInstanceUID and second.InstanceNumber == 2
    assert second.StudyInstanceUID == first.StudyInstanceUID and second.SeriesInstanceUID == first.SeriesInstanceUID
    assert other.StudyInstanceUID != first.StudyInstanceUID
    for data in (first, second, other):
        for uid in (data.SOPInstanceUID, data.StudyInstanceUID, data.SeriesInstanceUID):
            assert uid.is_valid and uid.startswith("2.25.")


def test_the_same_picture_gives_the_same_bytes(save):
    one, _ = save(SAGITTAL_AORTA)
    two, _ = save(SAGITTAL_AORTA)
    assert one.read_bytes() == two.read_bytes()


def test_writing_it_again_changes_nothing(save):
    """pydicom's own writer, which puts elements into their order, gives back the same data set."""
    path, _ = save(SAGITTAL_AORTA, "--structure", "aorta")
    written = io.BytesIO()
    pydicom.dcmread(path).save_as(written, enforce_file_format=True)
    assert written.getvalue() == path.read_bytes()


def test_highdicom_reads_it(save):
    path, _ = save(SAGITTAL_AORTA, "--structure", "aorta")
    image = highdicom.imread(path)
    assert image.number_of_frames == 1
    assert numpy.array_equal(image.get_frame(1, apply_voi_transform=False), pydicom.dcmread(path).pixel_array)
    concept = highdicom.sr.CodedConcept.from_dataset(image.AnatomicRegionSequence[0])
    assert concept == codes.SCT.AbdominalAorta
    assert highdicom.sr.CodedConcept.from_dataset(image.ViewCodeSequence[0]) == codes.SCT.Sagittal


@pytest.mark.parametrize("time", ["20261125094501", "20261325094501+0100", "20261125094561+0100", "x", "20261125094501+01:0"])
def test_a_bad_time_is_refused(tmp_path, time):
    out = tmp_path / "x.dcm"
    planeward.run(["dicom", "--time", time, str(out)], json.dumps(SAGITTAL_AORTA), expect=2)
    assert not out.exists()
