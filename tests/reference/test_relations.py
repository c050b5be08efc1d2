"""Where organs lie to each other, measured on the exported surfaces.

Each row states its relation and its source: textbook relations are from memory unless a source is named. Heights and
lengths are woman-size mm; those of the man are divided by his scale first.
"""

import numpy
import pytest
import shapely

from solids import ADULTS, perpendicular, solids, unit

WOMAN, MAN, BOTH = ADULTS[:1], ADULTS[1:], ADULTS
MEMORY = "from memory"
PRACTICE = "common practice, no source"
BRANCHES = "Pennington and Soames, levels of the aorta's branches"
ECHO = "guideline values of the heart's chambers, from memory"

RELATIONS = []


def relation(what, source=MEMORY, bodies=BOTH):
    def add(check):
        RELATIONS.extend(pytest.param(body, check, id=f"{body}: {what} ({source})") for body in bodies)
        return check

    return add



def within(low, high, *values):
    assert all(low <= value < high for value in values), f"{values}, not {low} to {high}"


@relation("L2: vena cava right of the mid-line, aorta left of it")
def sides_of_the_great_vessels(b):
    assert b.at("inferior_vena_cava", 70).x < 0 < b.at("aorta", 70).x


@relation("L2: vena cava and aorta in front of the vertebral body")
def great_vessels_before_the_spine(b):
    spine = b.at("vertebra_l2", 70).y_range[0]
    assert b.at("aorta", 70).y_range[1] < spine
    assert b.at("inferior_vena_cava", 70).y_range[1] < spine


@relation("L1/2: left renal vein between superior mesenteric artery and aorta")
def left_renal_vein_between(b):
    found = False
    for x, y, z in b.line("left_renal_vein"):
        sma, aorta = b.maybe("superior_mesenteric_artery", z), b.maybe("aorta", z)
        if sma and aorta and abs(x - sma.x) < 4:
            found |= sma.y < y < aorta.y
    assert found


@relation("left renal vein runs from the left kidney to the vena cava")
def left_renal_vein_ends(b):
    ends = b.ends("left_renal_vein")
    assert min(b.reach("inferior_vena_cava", p) for p in ends) < 3
    assert min(b.reach("left_kidney", p) for p in ends) < 12


def depth_at(b, name, x, low, high):
    """Mean depth of a structure at x between two heights."""
    depths = []
    for z in numpy.arange(low, high, 1.0):
        shape = b.slice_mm(name, z * b.scale)
        line = shape.intersection(sagittal(x * b.scale))
        if not line.is_empty:
            depths.append(line.centroid.y / b.scale)
    return numpy.mean(depths)


def sagittal(x):
    return shapely.LineString([[x, -400], [x, 400]])


@relation("splenic vein behind the pancreas body")
def splenic_vein_behind_pancreas(b):
    for x in (14, 24, 34):
        assert depth_at(b, "splenic_vein", x, 94, 120) > depth_at(b, "pancreas", x, 94, 120)


@relation("L1: splenic vein in front of the superior mesenteric artery")
def splenic_vein_before_artery(b):
    sma = b.at("superior_mesenteric_artery", 100)
    line = b.line("splenic_vein")
    at = line[numpy.abs(line[:, 0] - sma.x).argmin()]
    assert abs(at[0] - sma.x) < 6 and at[1] < sma.y


@relation("L2: superior mesenteric vein right of the artery")
def mesenteric_vein_right(b):
    assert b.at("superior_mesenteric_vein", 70).x < b.at("superior_mesenteric_artery", 70).x


@relation("superior mesenteric artery has a collar of fat of 3 mm", PRACTICE)
def mesenteric_collar(b):
    name = "superior_mesenteric_artery"
    for share in (0.3, 0.5, 0.7):
        inner, outer = b.across(name, share), b.across(name, share, f"{name}/wall")
        within(2.6, 3.4, (outer - inner) / 2)


@relation("coeliac trunk leaves within 10 mm of the disc T12/L1", BRANCHES)
def coeliac_level(b):
    within(108, 128, b.ends("coeliac_trunk")[0][2])


@relation("superior mesenteric artery leaves at L1, 8-25 mm below the coeliac trunk", BRANCHES)
def mesenteric_level(b):
    z = b.ends("superior_mesenteric_artery")[0][2]
    low, high = b.range("vertebra_l1", 2)
    within(low, high, z)
    within(8, 25, b.ends("coeliac_trunk")[0][2] - z)


@relation("aorta divides between the lower third of L4 and the disc below", BRANCHES)
def bifurcation_level(b):
    within(-23.6, -4.3, min(p[2] for p in b.ends("aorta")))


@relation(
    "common iliac arteries leave at 30-50 degrees to each other",
    "mean 39.5 degrees, 155 CT examinations",
)
def iliac_angle(b):
    leans = []
    for side in ("left", "right"):
        line = b.line(f"{side}_common_iliac_artery")
        far = line[numpy.flatnonzero(line[:, 2] < line[0, 2] - 18)[0]]
        leans.append(numpy.degrees(numpy.arctan2(far[0] - line[0, 0], line[0, 2] - far[2])))
    within(30, 50, leans[0] - leans[1])


@relation("right common iliac artery clear of the vena cava", PRACTICE)
def iliac_clear(b):
    assert b.gap("right_common_iliac_artery", "inferior_vena_cava") > 1.5


@relation("L3: duodenum passes between superior mesenteric artery and aorta")
def duodenum_between(b):
    found = False
    for z in numpy.arange(15, 60, 1.0):
        sma, aorta = b.maybe("superior_mesenteric_artery", z), b.maybe("aorta", z)
        if sma and aorta:
            x = (sma.x + aorta.x) / 2
            found |= any(b.holds("duodenum", [x, y, z]) for y in numpy.arange(sma.y, aorta.y, 0.5))
    assert found


@relation("bile duct in front of the portal vein")
def duct_before_portal_vein(b):
    assert b.at("bile_duct", 122).y < b.at("portal_vein", 122).y


@relation("portal vein in front of the vena cava")
def portal_vein_before_cava(b):
    assert b.at("portal_vein", 124).y_range[1] < b.at("inferior_vena_cava", 124).y_range[0]


@relation("vena cava behind the liver from T12 to T9")
def cava_behind_liver(b):
    for z in (135, 160, 185, 205):
        cava = b.at("inferior_vena_cava", z)
        assert any(b.holds("liver", [cava.x - 4, cava.y - back, z]) for back in range(30)), z


@relation("the three hepatic veins meet the vena cava at T9 to T10")
def hepatic_veins(b):
    for name in ("right_hepatic_vein", "middle_hepatic_vein", "left_hepatic_vein"):
        ends = [p for p in b.ends(name) if 195 <= p[2] <= 215]
        assert ends and min(b.reach("inferior_vena_cava", p) for p in ends) < 6, name


@relation("right kidney 8-25 mm lower than the left", "1-2.5 cm in textbooks of anatomy, two of them read")
def kidney_heights(b):
    left, right = (numpy.mean(b.range(f"{side}_kidney", 2)) for side in ("left", "right"))
    within(8, 25, left - right)


@relation("liver in front of or above the upper half of the right kidney")
def liver_over_kidney(b):
    for z in (75, 85, 95, 105):
        kidney = b.at("right_kidney", z)
        front = any(b.holds("liver", [kidney.x, kidney.y - d, z]) for d in range(0, 70, 2))
        above = any(b.holds("liver", [kidney.x, kidney.y, z + d]) for d in range(0, 70, 2))
        assert front or above, z


@relation("1-12 mm between liver and right kidney", PRACTICE)
def hepatorenal_gap(b):
    within(1, 12, b.gap("right_kidney", "liver"))


@relation("left kidney below the spleen, less than 15 mm from it")
def splenorenal_gap(b):
    assert b.gap("left_kidney", "spleen") < 15
    assert b.range("left_kidney", 2)[1] < b.range("spleen", 2)[1]


@relation("upper poles of the kidneys nearer the mid-line and farther back than the lower", "textbook, read in part")
def kidney_poles(b):
    for name in ("left_kidney", "right_kidney"):
        low, high = b.range(name, 2)
        lower = b.at(name, low + 0.05 * (high - low))
        upper = b.at(name, high - 0.05 * (high - low))
        assert abs(upper.x) < abs(lower.x) - 5 and upper.y > lower.y + 5, name


@relation("stated straight axes run along the organs: within 15 degrees", PRACTICE)
def stated_axes(b):
    for name in ("left_kidney", "right_kidney", "spleen", "left_thyroid_lobe"):
        start, end = b.axis(name)
        cosine = abs(unit(end - start) @ b.principal(name))
        assert numpy.degrees(numpy.arccos(cosine)) < 15, name


@relation("gallbladder: fundus in front of and below the neck, touching the liver")
def gallbladder_place(b):
    neck, fundus = b.ends("gallbladder")
    assert fundus[1] < neck[1] and fundus[2] < neck[2]
    assert b.gap("gallbladder", "liver") < 2.5


@relation("C7: carotid medial to the jugular, both sides")
def carotid_medial(b):
    for side in ("left", "right"):
        carotid = b.at(f"{side}_common_carotid_artery", 403)
        assert abs(carotid.x) < abs(b.at(f"{side}_internal_jugular_vein", 403).x)


@relation("C7: oesophagus behind and left of the trachea")
def oesophagus_place(b):
    oesophagus, trachea = b.at("oesophagus", 403), b.at("trachea", 403)
    assert oesophagus.y > trachea.y and oesophagus.x > trachea.x


@relation("C7: thyroid lobes beside the trachea, isthmus in front of it, under 5 mm thick")
def thyroid_place(b):
    trachea = b.at("trachea", 403)
    assert b.at("right_thyroid_lobe", 403).x < trachea.x < b.at("left_thyroid_lobe", 403).x
    assert b.at("thyroid_isthmus", 403).y < trachea.y_range[0]
    isthmus = b.slice_mm("thyroid_isthmus", 402 * b.scale)
    within(1, 5, isthmus.intersection(sagittal(0)).length / b.scale)


@relation("spleen along the tenth rib: within 25 degrees, seen from the side")
def spleen_along_rib(b):
    rib = b.line("left_rib_10")
    start, end = b.axis("spleen")
    near = numpy.linalg.norm(rib[1:-1] - (start + end) / 2, axis=1).argmin() + 1
    along = unit((rib[near + 1] - rib[near - 1])[1:])
    assert abs(along @ unit((end - start)[1:])) > numpy.cos(numpy.radians(25))


@relation("groin: femoral vein medial to the artery")
def groin(b):
    for side in ("left", "right"):
        vein = b.at(f"{side}_common_femoral_vein", -125)
        assert abs(vein.x) < abs(b.at(f"{side}_common_femoral_artery", -125).x)


@relation("thigh: deep femoral artery lateral to and behind the femoral artery")
def deep_femoral(b):
    for side in ("left", "right"):
        deep = b.at(f"{side}_deep_femoral_artery", -168)
        main = b.at(f"{side}_superficial_femoral_artery", -168)
        assert abs(deep.x) > abs(main.x) and deep.y > main.y


@relation("knee: popliteal vein behind the artery")
def knee(b):
    for side in ("left", "right"):
        assert b.at(f"{side}_popliteal_vein", -545).y > b.at(f"{side}_popliteal_artery", -545).y


@relation("right ventricle the foremost chamber, left atrium the hindmost")
def chambers(b):
    rv, lv, ra, la = (
        b.middle(name)[1]
        for name in ("right_ventricle", "left_ventricle", "right_atrium", "left_atrium")
    )
    assert rv < min(lv, ra, la) and la > max(lv, ra)


def along_heart(b, name):
    """First and last place of a structure along the axis of the left ventricle, from base to apex."""
    base, apex = b.axis("left_ventricle")
    places = (b.vertices(name) - base) @ unit(apex - base)
    return places.min(), places.max()


@relation("tricuspid valve 2-9 mm nearer the apex than the mitral annulus", ECHO)
def valve_offset(b):
    within(2, 9, numpy.mean(along_heart(b, "tricuspid_valve")) - along_heart(b, "mitral_valve")[0])


@relation("left ventricle 70-95 mm long, 38-52 mm across", ECHO)
def ventricle_size(b):
    low, high = along_heart(b, "left_ventricle")
    within(70, 95, high - low)
    base, apex = b.axis("left_ventricle")
    across = [b.vertices("left_ventricle") @ axis for axis in perpendicular(unit(apex - base))]
    within(38, 52, *(places.max() - places.min() for places in across))


@relation("pulmonary valve left of, in front of and above the aortic valve")
def valves_of_the_arteries(b):
    pulmonary, aortic = b.middle("pulmonary_valve"), b.middle("aortic_valve")
    assert pulmonary[0] > aortic[0] and pulmonary[1] < aortic[1] and pulmonary[2] > aortic[2]


@relation("aorta 15-21 mm at L1, 13-18 mm at L3", "inner calibres after 1218 Koreans and 21 695 screened")
def aortic_calibre(b):
    within(15, 21, b.across("aorta", b.share_at("aorta", 103)))
    within(13, 18, b.across("aorta", b.share_at("aorta", 35)))


@relation("portal vein 9-14 mm across", "list of normal sizes, 9-13 mm; mean 10.3, 1.8 (1000 people)")
def portal_calibre(b):
    within(9, 14, b.across("portal_vein", 0.5))


@relation("bile duct under 6 mm", "published upper limits 5-9 mm by site")
def duct_calibre(b):
    within(2, 6, *(b.across("bile_duct", share) for share in (0.2, 0.5, 0.8)))


@relation("vena cava wider than deep, 17-26 mm wide at L2")
def cava_shape(b):
    cava = b.at("inferior_vena_cava", 70)
    assert cava.width > cava.depth
    within(17, 26, cava.width)


@relation("appendix from the caecum to the external iliac vessels, ileum 10-30 mm above its root")
def appendix_place(b):
    root, tip = b.ends("appendix")
    assert b.reach("ascending_colon", root) < 1
    within(10, 30, b.ends("terminal_ileum")[1][2] - root[2])
    assert b.reach("ascending_colon", tip) > 15
    assert b.reach("right_external_iliac_artery", tip) < 12


@relation("terminal ileum crosses the right psoas into the caecum")
def ileum_place(b):
    assert b.gap("terminal_ileum", "ascending_colon") < 1
    over = [p for p in b.line("terminal_ileum") if -62 < p[0] < -46]
    assert over
    for p in over:
        assert p[1] < b.at("right_psoas", p[2]).y


@relation("uterus behind the bladder, fundus in front of the cervix", bodies=WOMAN)
def uterus_place(b):
    cervix, fundus = b.axis("uterus")
    assert b.at("uterus", -105).y > b.at("bladder", -105).y and fundus[1] < cervix[1]


@relation("ovaries within 20 mm of the internal iliac veins", bodies=WOMAN)
def ovary_place(b):
    for side in ("left", "right"):
        assert b.gap(f"{side}_ovary", f"{side}_internal_iliac_vein") < 20


@relation("prostate below the bladder and close in front of the rectum", bodies=MAN)
def prostate_place(b):
    middle = b.middle("prostate")[2]
    assert middle < b.range("bladder", 2)[0]
    assert b.at("prostate", middle).y_range[1] < b.at("rectum", middle).y_range[0]
    assert b.gap("prostate", "rectum") < 12


@pytest.mark.parametrize(("body", "check"), RELATIONS)
def test_organs_lie_as_stated(body, check):
    check(solids(body))
