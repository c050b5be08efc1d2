//! Dependency arrows: each room of the house may use the rooms above it, and few outside crates.

use crate::workspace;
use anyhow::{Context as _, Result, bail};
use serde_json::Value;
use std::collections::BTreeSet;

/// One crate of the workspace and what its code may use.
#[derive(Debug)]
struct Room {
    name: &'static str,
    inside: &'static [&'static str],
    outside: &'static [&'static str],
    /// Used by its tests and benches only: a dev-dependency, or an optional one that only the bench turns on.
    tests: &'static [&'static str],
}

/// From the ground up. A room that is not built yet may stand here; a crate that is not here fails.
const HOUSE: [Room; 12] = [
    Room {
        name: "geometry",
        inside: &[],
        outside: &["libm", "nalgebra", "thiserror"],
        // The bench compares with parry3d's plane cut in the same run.
        tests: &["parry3d", "proptest"],
    },
    Room {
        name: "wording",
        inside: &[],
        outside: &[],
        tests: &[],
    },
    Room {
        name: "anatomy",
        inside: &["geometry", "wording"],
        outside: &["serde", "serde_json", "thiserror"],
        tests: &["proptest", "sculpt"],
    },
    Room {
        name: "sculpt",
        inside: &["geometry", "anatomy"],
        outside: &["libm", "serde", "serde_json", "thiserror", "toml"],
        tests: &["proptest"],
    },
    Room {
        name: "picture",
        inside: &["geometry", "wording", "anatomy"],
        outside: &["libm"],
        // Golden pictures are kept as PNG.
        tests: &["png", "proptest", "sculpt"],
    },
    Room {
        name: "practice",
        inside: &["geometry", "wording", "anatomy", "picture"],
        outside: &["libm", "thiserror"],
        // Small bodies are written by the tests.
        tests: &["proptest", "serde_json"],
    },
    Room {
        name: "course",
        // Views of sets name transducers, which `picture` has.
        inside: &["geometry", "anatomy", "picture", "practice"],
        outside: &["serde", "serde_json", "thiserror", "zip"],
        // The vocabulary is kept as TOML and shipped as JSON.
        tests: &["proptest", "toml"],
    },
    Room {
        name: "app",
        inside: &[
            "geometry", "wording", "anatomy", "picture", "practice", "course",
        ],
        outside: &["libm", "thiserror"],
        tests: &["proptest", "sculpt"],
    },
    Room {
        name: "gl",
        inside: &[],
        outside: &[
            "bytemuck",
            "glam",
            "js-sys",
            "libm",
            "thiserror",
            "wasm-bindgen",
            "web-sys",
        ],
        tests: &[],
    },
    Room {
        name: "cli",
        inside: &[
            "geometry", "anatomy", "sculpt", "picture", "practice", "course",
        ],
        // Pictures for quiz programs are PNG; the vocabulary is kept as TOML.
        outside: &["anyhow", "clap", "png", "serde", "serde_json", "toml"],
        tests: &[],
    },
    Room {
        name: "xtask",
        inside: &["sculpt"],
        outside: &[
            "anyhow",
            "brotli",
            "flate2",
            "serde_json",
            "sha2",
            "syn",
            // The vocabulary is kept as TOML and shipped as JSON.
            "toml",
            "wasm-bindgen-cli-support",
        ],
        tests: &[],
    },
    Room {
        name: "web",
        inside: &["app", "gl"],
        outside: &[
            "glam",
            "js-sys",
            "leptos",
            "wasm-bindgen",
            "wasm-bindgen-futures",
            "web-sys",
        ],
        tests: &[],
    },
];

/// Asks cargo for the workspace, which fails when `Cargo.lock` does not fit, and compares.
///
/// # Errors
///
/// When cargo does not answer.
pub(super) fn faults() -> Result<Vec<String>> {
    let output = workspace::cargo()
        .args(["metadata", "--locked", "--format-version", "1"])
        .output()
        .context("could not start cargo")?;
    if !output.status.success() {
        let said = String::from_utf8_lossy(&output.stderr);
        bail!("cargo metadata --locked failed; is Cargo.lock in step with the manifests?\n{said}");
    }
    compare(&serde_json::from_slice(&output.stdout)?)
}

fn compare(metadata: &Value) -> Result<Vec<String>> {
    let members: BTreeSet<&str> = metadata["workspace_members"]
        .as_array()
        .context("cargo metadata lists no members")?
        .iter()
        .filter_map(Value::as_str)
        .collect();
    let packages: Vec<&Value> = metadata["packages"]
        .as_array()
        .context("cargo metadata lists no packages")?
        .iter()
        .filter(|package| {
            package["id"]
                .as_str()
                .is_some_and(|id| members.contains(id))
        })
        .collect();
    if packages.len() != members.len() || packages.is_empty() {
        bail!(
            "cargo metadata names {} members and describes {}",
            members.len(),
            packages.len()
        );
    }
    let mut faults = Vec::new();
    for package in packages {
        let name = package["name"].as_str().context("a package has no name")?;
        let Some(room) = HOUSE.iter().find(|room| room.name == name) else {
            faults.push(format!(
                "the crate {name} has no place in the house (crates/xtask/src/tidy/layers.rs)"
            ));
            continue;
        };
        for dependency in package["dependencies"]
            .as_array()
            .context("a package has no dependency list")?
        {
            let used = dependency["name"]
                .as_str()
                .context("a dependency has no name")?;
            let kind = dependency["kind"].as_str().unwrap_or("normal");
            let optional = dependency["optional"].as_bool().unwrap_or(false);
            if !room.allows(used, kind, optional) {
                faults.push(format!("{name} may not use {used} ({kind} dependency)"));
            }
        }
    }
    Ok(faults)
}

impl Room {
    fn allows(&self, used: &str, kind: &str, optional: bool) -> bool {
        let of_code = self.inside.contains(&used) || self.outside.contains(&used);
        // Test values and readable failures need JSON and error handling in any room.
        let of_tests = kind == "dev" && (self.tests.contains(&used) || used == "serde_json");
        // Cargo knows no optional dev-dependency. An optional one is in no build unless its feature is asked for.
        let of_benches = kind == "normal" && optional && self.tests.contains(&used);
        of_code || of_tests || of_benches
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::json;

    fn workspace_of(name: &str, used: &str, kind: Option<&str>) -> Value {
        json!({
            "workspace_members": ["m"],
            "packages": [
                { "id": "m", "name": name, "dependencies": [{ "name": used, "kind": kind }] },
                { "id": "other", "name": "not-a-member", "dependencies": [{ "name": "app", "kind": null }] },
            ],
        })
    }

    #[test]
    fn check_arrows() {
        for (name, used, kind, allowed) in [
            ("app", "geometry", None, true),
            ("geometry", "nalgebra", None, true),
            ("geometry", "app", None, false),
            ("geometry", "serde", None, false),
            ("geometry", "serde", Some("build"), false),
            ("geometry", "proptest", None, false),
            ("geometry", "proptest", Some("dev"), true),
            ("geometry", "app", Some("dev"), false),
            ("app", "gl", None, false),
            ("app", "sculpt", None, false),
            ("gl", "anatomy", None, false),
            ("web", "geometry", None, false),
            ("cellar", "geometry", None, false),
        ] {
            let faults = compare(&workspace_of(name, used, kind)).unwrap();
            assert_eq!(
                faults.is_empty(),
                allowed,
                "{name} -> {used} ({kind:?}): {faults:?}"
            );
        }
    }

    #[test]
    fn check_optional_peers() {
        for (used, optional, allowed) in [
            ("parry3d", true, true),
            ("parry3d", false, false),
            ("serde", true, false),
        ] {
            let mut workspace = workspace_of("geometry", used, None);
            workspace["packages"][0]["dependencies"][0]["optional"] = json!(optional);
            let faults = compare(&workspace).unwrap();
            assert_eq!(
                faults.is_empty(),
                allowed,
                "{used} ({optional}): {faults:?}"
            );
        }
    }

    #[test]
    fn check_arrows_point_up() {
        // Rooms are listed from the ground up, so no room may name one that comes after it.
        for (i, room) in HOUSE.iter().enumerate() {
            for used in room.inside {
                let place = HOUSE.iter().position(|other| other.name == *used);
                assert!(
                    place.is_some_and(|place| place < i),
                    "{} -> {used}",
                    room.name
                );
            }
        }
    }

    #[test]
    fn check_silence_is_an_error() {
        assert!(compare(&json!({})).is_err(), "no members");
        let none = json!({ "workspace_members": [], "packages": [] });
        assert!(compare(&none).is_err(), "an empty workspace");
    }
}
