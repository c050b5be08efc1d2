"""Saved pictures, read back by other people's libraries: PNG by Pillow, DICOM by pydicom, highdicom and dciodvfy, the
archive by Python's zipfile.
"""

import base64
import io
import json
import subprocess
import zipfile

import examination
import highdicom
import numpy
import pydicom
import pytest
import scene
from examination import FINISH, REVIEW
from PIL import Image
from pydicom.uid import ExplicitVRLittleEndian, UltrasoundImageStorage

pytestmark = pytest.mark.undrawn

# In grey-scale with a gain, and pressed besides: all of it belongs to the picture.
GREY = examination.SAGITTAL + "&grey=100&gain=3"

WIDTH, HEIGHT = 960, 720


def opened(page, site, fragment):
    page.on("dialog", lambda dialog: dialog.accept())
    return scene.open_scan(page, site, fragment)


def saved(page, press) -> tuple[str, bytes]:
    with page.expect_download() as download:
        press()
    return download.value.suggested_filename, download.value.path().read_bytes()


def validated(tmp_path, content: bytes) -> pydicom.Dataset:
    """The data set, after dciodvfy has found no error in it."""
    path = tmp_path / "saved.dcm"
    path.write_bytes(content)
    done = subprocess.run(["dciodvfy", path], capture_output=True, text=True, check=False)
    said = done.stdout + done.stderr
    assert "USImage" in said and "Error" not in said and done.returncode == 0, said
    return pydicom.dcmread(path)


def pixels_of(page) -> numpy.ndarray:
    """The picture that is looked at again, as the browser shows it."""
    width, height, text = examination.review_pixels(page)
    assert (width, height) == (WIDTH, HEIGHT)
    return numpy.frombuffer(base64.b64decode(text), numpy.uint8).reshape(height, width, 4)


def test_a_picture_and_its_dicom_file_show_what_was_shown(page, site, tmp_path):
    opened(page, site, GREY)
    scene.type_number(page, "Compress", 12)
    examination.take(page, "SAG AO PROX")
    page.locator("#card-1").click()
    review = page.locator(REVIEW)
    review.get_by_role("heading", name="Picture 1, 1 of 1").wait_for()
    scene.settle(page)
    shown = pixels_of(page)

    name, content = saved(page, review.get_by_role("button", name="Save picture (PNG)").click)
    assert name == "01_SAG_AO_PROX.png"
    picture = Image.open(io.BytesIO(content))
    assert picture.format == "PNG" and picture.width == WIDTH and picture.height > HEIGHT + 100
    pixels = numpy.asarray(picture.convert("RGBA"))
    assert numpy.array_equal(pixels[:HEIGHT], shown), "the file has the pixels that are shown"
    caption = pixels[HEIGHT:, :, :3]
    assert caption.min() < 60 and caption.max() > 240, "dark words on a light ground"

    name, content = saved(page, review.get_by_role("button", name="Save DICOM file").click)
    assert name == "01_SAG_AO_PROX.dcm"
    data = validated(tmp_path, content)
    assert data.file_meta.TransferSyntaxUID == ExplicitVRLittleEndian
    assert data.SOPClassUID == UltrasoundImageStorage
    assert str(data.PatientName).startswith("Teaching^") and data.PatientID.startswith("TEACHING-")
    assert "No person" in data.PatientComments and data.QualityControlImage == "YES"
    principal = [value[0] for value in data.PatientOrientation]
    assert principal == ["F", "P"], "image left is the head, image top the front"
    [view] = data.ViewCodeSequence
    assert view.CodeMeaning == "Sagittal"
    [anatomy] = data.AnatomicRegionSequence
    assert anatomy.CodeMeaning == "Abdominal aorta" and data.ImageLaterality == "U"
    assert data.ImageComments.startswith("SAG AO PROX") and "press=12" in data.ImageComments
    [region] = data.SequenceOfUltrasoundRegions
    assert (region.PhysicalUnitsXDirection, region.PhysicalUnitsYDirection) == (3, 3), "cm"
    [geometry] = data.TransducerGeometryCodeSequence
    assert geometry.CodeValue == "125253", "curved linear"
    assert (data.Rows, data.Columns) == (HEIGHT, WIDTH)
    grey = data.pixel_array
    assert data.PhotometricInterpretation == "MONOCHROME2" and grey.max() > 100
    image = highdicom.imread(io.BytesIO(content))
    assert numpy.array_equal(image.get_frame(1, apply_voi_transform=False), grey)
    # Letters, marks and the annotation lie over the shown picture only; everywhere else the bytes are the same.
    same = (shown[:, :, 0] == grey) & (shown[:, :, 1] == grey) & (shown[:, :, 2] == grey)
    assert same.mean() > 0.97, f"{same.mean():.1%} of the pixels are the same"
    middle = same[200:500, 300:660]
    assert middle.all(), "nothing is written on the middle of the field"


def test_the_whole_set_is_one_archive(page, site, tmp_path):
    opened(page, site, examination.SAGITTAL)
    examination.take(page, "SAG AO PROX")
    scene.type_number(page, "Notch", 270)
    examination.take(page, "")
    page.locator(".examine").get_by_role("button", name="Finish").click()
    button = page.locator(FINISH).get_by_role("button", name="Save the whole set (ZIP)")
    name, content = saved(page, button.click)
    assert name == "planeward-pictures.zip"
    archive = zipfile.ZipFile(io.BytesIO(content))
    assert archive.testzip() is None
    files = ["01_SAG_AO_PROX.png", "01_SAG_AO_PROX.dcm", "02.png", "02.dcm", "pictures.json", "pictures.txt"]
    assert archive.namelist() == files
    listing = json.loads(archive.read("pictures.json"))
    assert (listing["format"], listing["version"]) == ("planeward pictures", 1)
    assert "Not for diagnosis" in listing["note"]
    first, second = listing["pictures"]
    assert (first["annotation"], second["annotation"]) == ("SAG AO PROX", "")
    assert first["view"].startswith("v1.body=adult_female") and "agittal plane" in first["words"][1]
    assert "Transverse plane." in second["words"]
    text = archive.read("pictures.txt").decode()
    assert "Picture 1: SAG AO PROX" in text and "Not for diagnosis" in text
    sets = [validated(tmp_path, archive.read(name)) for name in files if name.endswith(".dcm")]
    assert sets[0].StudyInstanceUID == sets[1].StudyInstanceUID
    assert sets[0].SOPInstanceUID != sets[1].SOPInstanceUID
    assert [data.InstanceNumber for data in sets] == [1, 2]
    assert sets[0].PhotometricInterpretation == "RGB", "the section in flat colours"
    assert sets[1].ViewCodeSequence[0].CodeMeaning == "Transverse"
    assert "AnatomicRegionSequence" not in sets[1], "nobody said what it is of"
    for name in files[::2][:2]:
        assert Image.open(io.BytesIO(archive.read(name))).width == WIDTH
    # The view of the list opens the picture's view again.
    scene.open_scan(page, site, second["view"])
    assert scene.plane(page) == "Transverse plane"
