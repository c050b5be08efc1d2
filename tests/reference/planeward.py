"""The `planeward` command as the checks use it: many lines through one process."""

import json
import os
import pathlib
import subprocess

ROOT = pathlib.Path(__file__).resolve().parents[2]


def command() -> pathlib.Path:
    """The built command: PLANEWARD_BIN, else the newer of the debug and release builds."""
    named = os.environ.get("PLANEWARD_BIN")
    if named:
        found = [pathlib.Path(named)]
    else:
        target = pathlib.Path(os.environ.get("CARGO_TARGET_DIR", ROOT / "target"))
        found = [target / kind / "planeward" for kind in ("debug", "release")]
    found = [path for path in found if path.is_file()]
    if not found:
        raise FileNotFoundError("no planeward command: cargo build -p cli, or set PLANEWARD_BIN")
    return max(found, key=lambda path: path.stat().st_mtime)


def run(arguments, text="", expect=0):
    """Runs the command at the checkout's root, where it finds the baked bodies."""
    done = subprocess.run(
        [command(), *arguments], input=text, capture_output=True, text=True, cwd=ROOT, check=False
    )
    assert done.returncode == expect, f"{arguments}: status {done.returncode}, {done.stderr}"
    return done.stdout


def ask(lines, *arguments):
    """Answers of `describe`, or of the sub-command and options given, one for each line."""
    text = "".join(json.dumps(line) + "\n" for line in lines)
    answers = [json.loads(line) for line in run(arguments or ["describe"], text).splitlines()]
    assert len(answers) == len(lines)
    return answers


def listing(*arguments):
    """The JSON lines of a listing."""
    return [json.loads(line) for line in run(arguments).splitlines()]
