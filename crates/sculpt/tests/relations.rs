//! Where organs lie to each other: textbook relations (FROM MEMORY unless marked), as data.
//!
//! Heights are woman-size mm and are multiplied by the body's offset scale, as are the distances.

#![expect(
    clippy::print_stdout,
    clippy::unwrap_used,
    reason = "the measured values are worth reading with --nocapture, and a relation without its structures is broken"
)]

mod support;

use sculpt::model::{Axis, Model};
use sculpt::triple as t;
use support::{Section, gap, index, model, section};

const ADULTS: &[&str] = &["adult_female", "adult_male"];
const WOMAN: &[&str] = &["adult_female"];
const MAN: &[&str] = &["adult_male"];

/// A body seen in woman-size millimetres.
struct Seen {
    model: &'static Model,
    scale: f64,
}

impl Seen {
    fn at(&self, id: &str, z: f64) -> Section {
        self.maybe(id, z)
            .unwrap_or_else(|| panic!("{}: {id} does not reach z {z}", self.model.id))
    }

    fn maybe(&self, id: &str, z: f64) -> Option<Section> {
        let s = self.scale;
        section(self.model, id, z * s).map(|c| Section {
            x: c.x / s,
            y: c.y / s,
            x_range: c.x_range.map(|v| v / s),
            y_range: c.y_range.map(|v| v / s),
            area: c.area / (s * s),
        })
    }

    /// First and last point of a structure's centre line.
    fn ends(&self, id: &str) -> [[f64; 3]; 2] {
        let line = &self.model.structures[index(self.model, id)].centreline;
        [line[0], line[line.len() - 1]].map(|p| p.map(|v| v / self.scale))
    }

    /// Value of a structure at a point, mm, negative inside.
    fn value(&self, id: &str, p: [f64; 3]) -> f64 {
        self.model
            .value(index(self.model, id), p.map(|v| v * self.scale))
            / self.scale
    }

    fn gap(&self, a: &str, b: &str) -> f64 {
        gap(self.model, a, b) / self.scale
    }

    /// Extent in z of the inside, woman-size mm.
    fn z_range(&self, id: &str) -> [f64; 2] {
        let b = self.model.structures[index(self.model, id)].solid.bounds;
        [b.lo[2] / self.scale, b.hi[2] / self.scale]
    }

    /// Calibre across the centre line at a share of its length: diameter of the circle of the same area, woman-size mm.
    fn across(&self, id: &str, share: f64) -> f64 {
        support::calibre_across(self.model, id, share, 0.0) / self.scale
    }

    /// Points inside a structure on a 1 mm grid, mm of this body.
    fn inside(&self, id: &str) -> Vec<[f64; 3]> {
        let i = index(self.model, id);
        support::grid(self.model.structures[i].solid.bounds, 1.0)
            .filter(|&p| self.model.value(i, p) < 0.0)
            .collect()
    }

    /// Middles of the lowest and of the highest tenth of the inside, woman-size mm.
    fn poles(&self, id: &str) -> [[f64; 3]; 2] {
        let mut points = self.inside(id);
        points.sort_by(|a, b| a[2].total_cmp(&b[2]));
        let n = points.len() / 10;
        let middle = |part: &[[f64; 3]]| {
            let sum = part.iter().fold([0.0; 3], |s, p| t::add(s, *p));
            t::scale(sum, 1.0 / part.len() as f64 / self.scale)
        };
        [middle(&points[..n]), middle(&points[points.len() - n..])]
    }

    /// Lowest height inside a structure, woman-size mm.
    fn lowest(&self, id: &str) -> f64 {
        let z = self.inside(id).into_iter().map(|p| p[2]);
        z.fold(f64::INFINITY, f64::min) / self.scale
    }

    /// Place of a point along the axis of the left ventricle (base to apex) and its distance from it, woman-size mm.
    fn heart_place(&self, p: [f64; 3]) -> [f64; 2] {
        let [base, apex] = self.axis("left_ventricle");
        let along = t::unit(t::sub(apex, base)).unwrap();
        let d = t::sub(p.map(|v| v / self.scale), base);
        [t::dot(d, along), t::length(t::reject(d, along))]
    }

    /// First and last place of a structure along the axis of the left ventricle, woman-size mm.
    fn along_heart(&self, id: &str) -> [f64; 2] {
        let places: Vec<f64> = self
            .inside(id)
            .iter()
            .map(|&p| self.heart_place(p)[0])
            .collect();
        [
            places.iter().copied().fold(f64::INFINITY, f64::min),
            places.iter().copied().fold(f64::NEG_INFINITY, f64::max),
        ]
    }

    /// Twice the largest distance of a structure from the axis of the left ventricle, woman-size mm.
    fn heart_width(&self, id: &str) -> f64 {
        let away = self.inside(id).into_iter().map(|p| self.heart_place(p)[1]);
        2.0 * away.fold(0.0, f64::max)
    }

    fn axis(&self, id: &str) -> [[f64; 3]; 2] {
        match &self.model.structures[index(self.model, id)].axis {
            Axis::Line { a, b } => [*a, *b].map(|p| p.map(|v| v / self.scale)),
            _ => self.ends(id),
        }
    }
}

struct Relation {
    what: &'static str,
    bodies: &'static [&'static str],
    holds: fn(&Seen) -> bool,
}

const fn all(what: &'static str, holds: fn(&Seen) -> bool) -> Relation {
    Relation {
        what,
        bodies: ADULTS,
        holds,
    }
}

const RELATIONS: &[Relation] = &[
    all("L2: vena cava right of the mid-line", |b| {
        b.at("inferior_vena_cava", 70.0).x < 0.0
    }),
    all("L2: aorta left of the mid-line", |b| {
        b.at("aorta", 70.0).x > 0.0
    }),
    all(
        "L2: vena cava and aorta in front of the vertebral body",
        |b| {
            let spine = b.at("vertebra_l2", 70.0).y_range[0];
            b.at("aorta", 70.0).y_range[1] < spine
                && b.at("inferior_vena_cava", 70.0).y_range[1] < spine
        },
    ),
    all(
        "L1/2: left renal vein between superior mesenteric artery and aorta",
        |b| {
            let line = &b.model.structures[index(b.model, "left_renal_vein")].centreline;
            line.iter().map(|p| p.map(|v| v / b.scale)).any(|p| {
                let (Some(sma), Some(ao)) = (
                    b.maybe("superior_mesenteric_artery", p[2]),
                    b.maybe("aorta", p[2]),
                ) else {
                    return false;
                };
                (p[0] - sma.x).abs() < 4.0 && sma.y < p[1] && p[1] < ao.y
            })
        },
    ),
    all(
        "left renal vein runs from the left kidney to the vena cava",
        |b| {
            let e = b.ends("left_renal_vein");
            let near = |id: &str, mm: f64| e.iter().any(|&p| b.value(id, p) < mm);
            near("inferior_vena_cava", 3.0) && near("left_kidney", 12.0)
        },
    ),
    all("splenic vein behind the pancreas body", |b| {
        [14.0, 24.0, 34.0].iter().all(|&x| {
            let depth = |id: &str| {
                let s = (-900..600).map(|i| f64::from(i) * 0.1).filter(|&y| {
                    (940..1200)
                        .step_by(10)
                        .any(|z| b.value(id, [x, y, f64::from(z) * 0.1]) < 0.0)
                });
                let v: Vec<f64> = s.collect();
                v.iter().sum::<f64>() / v.len() as f64
            };
            depth("splenic_vein") > depth("pancreas")
        })
    }),
    all(
        "L1: splenic vein in front of the superior mesenteric artery",
        |b| {
            let sma = b.at("superior_mesenteric_artery", 100.0);
            (900..1150).step_by(5).any(|z| {
                (-900..300).any(|y| {
                    let p = [sma.x, f64::from(y) * 0.1, f64::from(z) * 0.1];
                    p[1] < sma.y && b.value("splenic_vein", p) < 0.0
                })
            })
        },
    ),
    all("L2: superior mesenteric vein right of the artery", |b| {
        b.at("superior_mesenteric_vein", 70.0).x < b.at("superior_mesenteric_artery", 70.0).x
    }),
    all(
        "superior mesenteric artery has a collar of fat of 3 mm",
        |b| {
            b.model.structures[index(b.model, "superior_mesenteric_artery")]
                .wall
                .as_ref()
                .is_some_and(|w| {
                    w.tissue == "perivascular_fat" && (w.mm / b.scale - 3.0).abs() < 0.01
                })
        },
    ),
    all(
        "coeliac trunk leaves at T12/L1 (Pennington and Soames)",
        |b| (b.ends("coeliac_trunk")[0][2] - 118.0).abs() < 10.0,
    ),
    all(
        "superior mesenteric artery leaves 8-25 mm below the coeliac trunk",
        |b| {
            let d = b.ends("coeliac_trunk")[0][2] - b.ends("superior_mesenteric_artery")[0][2];
            (8.0..25.0).contains(&d)
        },
    ),
    all(
        "superior mesenteric artery leaves at the L1 body (Pennington and Soames)",
        |b| {
            let z = b.ends("superior_mesenteric_artery")[0][2];
            b.maybe("vertebra_l1", z).is_some()
        },
    ),
    all(
        "aorta divides between the lower third of L4 and the disc below (Pennington and Soames)",
        |b| {
            let low = b
                .ends("aorta")
                .map(|p| p[2])
                .into_iter()
                .fold(f64::INFINITY, f64::min);
            (-23.6..-4.3).contains(&low)
        },
    ),
    all(
        "common iliac arteries leave at 30-50 degrees to each other (mean 39.5, 155 CT examinations)",
        |b| {
            let start = |id: &str| {
                let line = &b.model.structures[index(b.model, id)].centreline;
                let far = line.iter().find(|p| p[2] < line[0][2] - 18.0 * b.scale);
                [line[0], *far.unwrap()]
            };
            let [l, r] = ["left_common_iliac_artery", "right_common_iliac_artery"].map(start);
            let lean = |[a, z]: [[f64; 3]; 2]| libm::atan2(z[0] - a[0], a[2] - z[2]).to_degrees();
            (30.0..50.0).contains(&(lean(l) - lean(r)))
        },
    ),
    all(
        "right common iliac artery clear of the vena cava at the bifurcation",
        |b| b.gap("right_common_iliac_artery", "inferior_vena_cava") > 1.7,
    ),
    all(
        "L3: duodenum passes between superior mesenteric artery and aorta",
        |b| {
            let ao = b.at("aorta", 35.0);
            (150..600).step_by(5).any(|z| {
                let z = f64::from(z) * 0.1;
                let Some(sma) = b.maybe("superior_mesenteric_artery", z) else {
                    return false;
                };
                (-900..300).any(|y| {
                    let y = f64::from(y) * 0.1;
                    y > sma.y && y < ao.y && b.value("duodenum", [(sma.x + ao.x) / 2.0, y, z]) < 0.0
                })
            })
        },
    ),
    all("bile duct in front of the portal vein", |b| {
        b.at("bile_duct", 122.0).y < b.at("portal_vein", 122.0).y
    }),
    all("portal vein in front of the vena cava", |b| {
        b.at("portal_vein", 124.0).y_range[1] < b.at("inferior_vena_cava", 124.0).y_range[0]
    }),
    all("vena cava behind the liver from T12 to T9", |b| {
        [135.0, 160.0, 185.0, 205.0].iter().all(|&z| {
            let ivc = b.at("inferior_vena_cava", z);
            (0..30).any(|i| b.value("liver", [ivc.x - 4.0, ivc.y - f64::from(i), z]) < 0.0)
        })
    }),
    all(
        "the three hepatic veins meet the vena cava at T9 to T10",
        |b| {
            [
                "right_hepatic_vein",
                "middle_hepatic_vein",
                "left_hepatic_vein",
            ]
            .iter()
            .all(|v| {
                b.ends(v).iter().any(|&p| {
                    (195.0..=215.0).contains(&p[2]) && b.value("inferior_vena_cava", p) < 6.0
                })
            })
        },
    ),
    all("right kidney 8-25 mm lower than the left", |b| {
        let mid = |id: &str| b.z_range(id).iter().sum::<f64>() / 2.0;
        (8.0..25.0).contains(&(mid("left_kidney") - mid("right_kidney")))
    }),
    all(
        "liver in front of or above the upper half of the right kidney",
        |b| {
            [75.0, 85.0, 95.0, 105.0].iter().all(|&z| {
                let k = b.at("right_kidney", z);
                let front = (0..70).any(|i| b.value("liver", [k.x, k.y - f64::from(i), z]) < 0.0);
                let above = (0..70).any(|i| b.value("liver", [k.x, k.y, z + f64::from(i)]) < 0.0);
                front || above
            })
        },
    ),
    all("1-12 mm between liver and right kidney", |b| {
        (1.0..12.0).contains(&b.gap("right_kidney", "liver"))
    }),
    all(
        "left kidney below the spleen, less than 15 mm from it",
        |b| {
            b.gap("left_kidney", "spleen") < 15.0
                && b.z_range("left_kidney")[1] < b.z_range("spleen")[1]
        },
    ),
    all(
        "upper poles of the kidneys nearer the mid-line and farther back than the lower",
        |b| {
            ["left_kidney", "right_kidney"].iter().all(|k| {
                let [low, up] = b.poles(k);
                up[0].abs() < low[0].abs() - 5.0 && up[1] > low[1] + 5.0
            })
        },
    ),
    all(
        "stated straight axes run along the organs: within 15 degrees",
        |b| {
            ["left_kidney", "right_kidney", "spleen", "left_thyroid_lobe"]
                .iter()
                .all(|id| {
                    let [a, z] = b.axis(id);
                    let stated = t::unit(t::sub(a, z)).unwrap();
                    let own = support::principal(b.model, index(b.model, id));
                    let angle = libm::acos(t::dot(stated, own).abs()).to_degrees();
                    println!(
                        "{} {id}: stated axis {angle:.1}° from its own, {own:.2?}",
                        b.model.id
                    );
                    angle < 15.0
                })
        },
    ),
    all(
        "gallbladder: fundus in front of and below the neck, touching the liver",
        |b| {
            let [neck, fundus] = b.ends("gallbladder");
            fundus[1] < neck[1] && fundus[2] < neck[2] && b.gap("gallbladder", "liver") < 2.5
        },
    ),
    all(
        "terminal ileum crosses in front of the right psoas into the caecum",
        |b| {
            let line = &b.model.structures[index(b.model, "terminal_ileum")].centreline;
            let over_psoas = line
                .iter()
                .map(|p| p.map(|v| v / b.scale))
                .filter(|p| {
                    let reach = |sign: f64| {
                        (8..45).any(|i| {
                            b.value("right_psoas", [p[0], p[1] + sign * f64::from(i), p[2]]) < 0.0
                        })
                    };
                    reach(1.0) && !reach(-1.0)
                })
                .count();
            over_psoas > 5 && b.gap("terminal_ileum", "ascending_colon") < 0.0
        },
    ),
    all(
        "appendix leaves the caecum 10-30 mm below the ileum and ends within 12 mm of the external iliac artery",
        |b| {
            let [root, tip] = b.ends("appendix");
            let mouth = b.ends("terminal_ileum")[1];
            b.value("ascending_colon", root) < 1.0
                && (10.0..30.0).contains(&(mouth[2] - root[2]))
                && b.value("ascending_colon", tip) > 15.0
                && b.value("right_external_iliac_artery", tip) < 12.0
        },
    ),
    all(
        "content and submucosa of the small bowel lie inside its muscle",
        |b| {
            ["small_bowel_loops", "terminal_ileum"].iter().all(|id| {
                let s = &b.model.structures[index(b.model, id)];
                let middle = &s.centreline[2..s.centreline.len() - 2];
                s.wall.as_ref().is_some_and(|w| w.tissue == "bowel_wall")
                    && middle.iter().map(|p| p.map(|v| v / b.scale)).all(|p| {
                        b.value("small_bowel_content", p) < 0.0
                            && b.value(id, p) < b.value("small_bowel_content", p)
                    })
            })
        },
    ),
    all(
        "psoas beside and behind the right external iliac artery, the vein behind it",
        |b| {
            let [artery, vein, psoas] = [
                "right_external_iliac_artery",
                "right_external_iliac_vein",
                "right_psoas",
            ]
            .map(|id| b.at(id, -74.0));
            psoas.x < artery.x && vein.y > artery.y && vein.x > artery.x
        },
    ),
    all("mitral and tricuspid orifices are open", |b| {
        [
            ("left_atrium", "left_ventricle"),
            ("right_atrium", "right_ventricle"),
        ]
        .iter()
        .all(|(atrium, ventricle)| b.gap(atrium, ventricle) < 0.0)
    }),
    all("C7: carotid medial to the jugular, both sides", |b| {
        ["left", "right"].iter().all(|s| {
            b.at(&format!("{s}_common_carotid_artery"), 403.0).x.abs()
                < b.at(&format!("{s}_internal_jugular_vein"), 403.0).x.abs()
        })
    }),
    all("C7: oesophagus behind and left of the trachea", |b| {
        let (o, t) = (b.at("oesophagus", 403.0), b.at("trachea", 403.0));
        o.y > t.y && o.x > t.x
    }),
    all(
        "C7: thyroid lobes beside the trachea, isthmus in front of it",
        |b| {
            let t = b.at("trachea", 403.0);
            b.at("left_thyroid_lobe", 403.0).x > t.x
                && b.at("right_thyroid_lobe", 403.0).x < t.x
                && b.at("thyroid_isthmus", 403.0).y < t.y_range[0]
        },
    ),
    all("thyroid isthmus under 5 mm thick", |b| {
        let thick = (-450..-100)
            .filter(|&y| b.value("thyroid_isthmus", [0.0, f64::from(y) * 0.1, 402.0]) < 0.0);
        (10..50).contains(&thick.count())
    }),
    all("portal vein 9-14 mm across", |b| {
        (9.0..14.0).contains(&b.across("portal_vein", 0.5))
    }),
    all("bile duct under 6 mm", |b| {
        [0.2, 0.5, 0.8]
            .iter()
            .all(|&u| (2.0..6.0).contains(&b.across("bile_duct", u)))
    }),
    all(
        "spleen along the tenth rib: within 25 degrees, seen from the side",
        |b| {
            let rib = &b.model.structures[index(b.model, "left_rib_10")].centreline;
            let [a, z] = b.axis("spleen");
            let middle = [0, 1, 2].map(|k| (a[k] + z[k]) / 2.0 * b.scale);
            let near = (1..rib.len() - 1)
                .min_by(|&i, &k| {
                    let d = |p: [f64; 3]| t::length(t::sub(p, middle));
                    d(rib[i]).total_cmp(&d(rib[k]))
                })
                .unwrap();
            // Seen from the side: the rib also curves around the chest.
            let side = |v: [f64; 3]| t::unit([0.0, v[1], v[2]]).unwrap();
            let along = side(t::sub(rib[near + 1], rib[near - 1]));
            let axis = side(t::sub(z, a));
            t::dot(along, axis).abs() > libm::cos(25.0_f64.to_radians())
        },
    ),
    all("groin: femoral vein medial to the artery", |b| {
        ["left", "right"].iter().all(|s| {
            b.at(&format!("{s}_common_femoral_vein"), -125.0).x.abs()
                < b.at(&format!("{s}_common_femoral_artery"), -125.0).x.abs()
        })
    }),
    all(
        "groin: deep femoral artery lateral to and behind the femoral artery",
        |b| {
            ["left", "right"].iter().all(|s| {
                let deep = b.at(&format!("{s}_deep_femoral_artery"), -168.0);
                let main = b.at(&format!("{s}_superficial_femoral_artery"), -168.0);
                deep.x.abs() > main.x.abs() && deep.y > main.y
            })
        },
    ),
    all("knee: popliteal vein behind the artery", |b| {
        ["left", "right"].iter().all(|s| {
            b.at(&format!("{s}_popliteal_vein"), -545.0).y
                > b.at(&format!("{s}_popliteal_artery"), -545.0).y
        })
    }),
    all(
        "right ventricle the foremost chamber, left atrium the hindmost",
        |b| {
            let y = |id: &str| {
                let bounds = b.model.structures[index(b.model, id)].solid.bounds;
                let v: Vec<f64> = support::grid(bounds, 3.0)
                    .filter(|&p| b.model.value(index(b.model, id), p) < 0.0)
                    .map(|p| p[1])
                    .collect();
                v.iter().sum::<f64>() / v.len() as f64
            };
            let [rv, lv, ra, la] = [
                "right_ventricle",
                "left_ventricle",
                "right_atrium",
                "left_atrium",
            ]
            .map(y);
            rv < lv && rv < ra && rv < la && la > lv && la > ra
        },
    ),
    all(
        "tricuspid valve 2-9 mm nearer the apex than the mitral annulus",
        |b| {
            let tricuspid = b.along_heart("tricuspid_valve");
            let mitral = b.along_heart("mitral_valve");
            let middle = tricuspid.iter().sum::<f64>() / 2.0;
            (2.0..9.0).contains(&(middle - mitral[0]))
        },
    ),
    all("left ventricle 70-95 mm long, 38-52 mm across", |b| {
        let [base, apex] = b.along_heart("left_ventricle");
        (70.0..95.0).contains(&(apex - base))
            && (38.0..52.0).contains(&b.heart_width("left_ventricle"))
    }),
    all(
        "pulmonary valve left of, in front of and above the aortic valve",
        |b| {
            let middle = |id: &str| {
                let bounds = b.model.structures[index(b.model, id)].solid.bounds;
                [0, 1, 2].map(|k| (bounds.lo[k] + bounds.hi[k]) / 2.0)
            };
            let (p, a) = (middle("pulmonary_valve"), middle("aortic_valve"));
            p[0] > a[0] && p[1] < a[1] && p[2] > a[2]
        },
    ),
    all("aorta 15-21 mm at L1, 13-18 mm at L3", |b| {
        (15.0..21.0).contains(&b.at("aorta", 103.0).calibre())
            && (13.0..18.0).contains(&b.at("aorta", 35.0).calibre())
    }),
    all("vena cava wider than deep, 17-26 mm wide at L2", |b| {
        let v = b.at("inferior_vena_cava", 70.0);
        v.width() > v.depth() && (17.0..26.0).contains(&v.width())
    }),
    Relation {
        what: "uterus behind the bladder, fundus in front of the cervix",
        bodies: WOMAN,
        holds: |b| {
            let [cervix, fundus] = b.axis("uterus");
            b.at("uterus", -105.0).y > b.at("bladder", -105.0).y && fundus[1] < cervix[1]
        },
    },
    Relation {
        what: "ovary within 20 mm of the internal iliac vein",
        bodies: WOMAN,
        holds: |b| {
            b.gap("left_ovary", "left_internal_iliac_vein") < 20.0
                && b.gap("right_ovary", "right_internal_iliac_vein") < 20.0
        },
    },
    Relation {
        what: "prostate below the bladder and close in front of the rectum",
        bodies: MAN,
        holds: |b| {
            let z = b.z_range("prostate");
            let mid = (z[0] + z[1]) / 2.0;
            mid < b.lowest("bladder")
                && b.at("prostate", mid).y_range[1] < b.at("rectum", mid).y_range[0]
                && b.gap("prostate", "rectum") < 12.0
        },
    },
];

#[test]
fn organs_lie_as_the_textbook_says() {
    let mut broken = Vec::new();
    for r in RELATIONS {
        for body in r.bodies {
            let model = model(body);
            let seen = Seen {
                model,
                scale: model.offset_scale,
            };
            if !(r.holds)(&seen) {
                broken.push(format!("{body}: {}", r.what));
            }
        }
    }
    assert!(broken.is_empty(), "{}", broken.join("\n"));
}

/// Neonate: sizes from the sources named in the body's file.
#[test]
fn the_infants_head_has_the_published_sizes() {
    let m = model("infant_head");
    let skin = |p| m.value(m.skin, p);
    let head = (0..12)
        .map(|i| support::girth(skin, 20.0 + f64::from(i) * 2.0, [0.0, 0.0], 90.0)[0])
        .fold(0.0, f64::max);
    assert!(
        (330.0..360.0).contains(&head),
        "head circumference {head:.0} mm"
    );
    let third = section(m, "third_ventricle", 26.5).unwrap();
    assert!(
        (2.0..4.0).contains(&third.width()),
        "third ventricle {:.1} mm wide",
        third.width()
    );
    let thalamus = section(m, "left_thalamus", 26.5).unwrap();
    assert!(
        thalamus.x > third.x_range[1],
        "left thalamus beside the third ventricle"
    );
    let right_thalamus = section(m, "right_thalamus", 26.5).unwrap();
    assert!(right_thalamus.x < third.x_range[0], "and right");
    let inside = |id: &str| -> Vec<[f64; 3]> {
        let i = index(m, id);
        support::grid(m.structures[i].solid.bounds, 0.4)
            .filter(|&p| m.value(i, p) < 0.0)
            .collect()
    };
    let extent = |points: &[[f64; 3]], k: usize| {
        let lo = points.iter().map(|p| p[k]).fold(f64::INFINITY, f64::min);
        let hi = points
            .iter()
            .map(|p| p[k])
            .fold(f64::NEG_INFINITY, f64::max);
        [lo, hi]
    };
    // The body of the ventricle: behind the foramen, in front of the atrium.
    let body: Vec<_> = inside("left_lateral_ventricle")
        .into_iter()
        .filter(|p| (-9.0..10.0).contains(&p[1]) && p[2] > 36.0)
        .collect();
    let wall = extent(&body, 0)[1];
    assert!(
        (7.0..14.0).contains(&wall),
        "outer wall {wall:.1} mm from the mid-line"
    );
    let fontanelle = inside("anterior_fontanelle");
    for (k, way) in [(0, "wide"), (1, "long")] {
        let [lo, hi] = extent(&fontanelle, k);
        assert!(
            (20.0..32.0).contains(&(hi - lo)),
            "fontanelle {:.1} mm {way}",
            hi - lo
        );
    }
    let callosum = index(m, "corpus_callosum");
    let callosum_middle: Vec<_> = support::grid(m.structures[callosum].solid.bounds, 0.5)
        .filter(|&p| p[0].abs() < 0.5 && m.value(callosum, p) < 0.0)
        .collect();
    let [front, back] = extent(&callosum_middle, 1);
    assert!(
        (38.0..52.0).contains(&(back - front)),
        "corpus callosum {:.0} mm",
        back - front
    );
    let third_top = extent(&inside("third_ventricle"), 2)[1];
    let [third_front, third_back] = extent(&inside("third_ventricle"), 1);
    let arch = callosum_middle
        .iter()
        .filter(|p| (third_front..third_back).contains(&p[1]));
    let underside = arch.map(|p| p[2]).fold(f64::INFINITY, f64::min);
    assert!(
        underside > third_top,
        "corpus callosum at {underside:.1}, third ventricle up to {third_top:.1}"
    );
    let cerebellum = inside("cerebellar_hemispheres");
    let [right, left] = extent(&cerebellum, 0);
    assert!(
        (48.0..58.0).contains(&(left - right)),
        "cerebellum {:.0} mm wide",
        left - right
    );
    let thalami = inside("left_thalamus");
    for k in [1, 2] {
        let middle =
            |points: &[[f64; 3]]| points.iter().map(|p| p[k]).sum::<f64>() / points.len() as f64;
        let behind_or_below = middle(&cerebellum) - middle(&thalami);
        let far = if k == 1 {
            behind_or_below
        } else {
            -behind_or_below
        };
        assert!(
            far > 15.0,
            "cerebellum {far:.0} mm behind or below the thalami"
        );
    }
    let plexus_front = extent(&inside("left_choroid_plexus"), 1)[0];
    assert!(
        plexus_front > -10.0,
        "choroid plexus in the frontal horn, y {plexus_front:.1}"
    );
}
