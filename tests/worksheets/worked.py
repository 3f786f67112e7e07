#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Worked examples of every worksheet, run on the command line and held against what tests/data/worked says should come out.

usage: worked.py CAMERAWRIGHT [SHEET ...]      (no sheets: all; then a sheet with fewer than two examples is a failure)
       worked.py CAMERAWRIGHT --listed         only whether every sheet has its two, without running them

An example is {"sheet", "inputs", "outputs", "source"} and one of three kinds:
  outputs as printed        "rate": {"is": "16.20 N/mm", "within": "0.005 N/mm"}; a text: {"says": "M1.7"}
  by another road           "route": "membrane"; the function of that name in worked_routes.py gets the inputs in SI and gives
                            the outputs; here only how near: {"within": "0.5 %"}
  by a law                  "then": inputs changed; {"ratio": 16, "within": "0.001 %"} of the second run to the first
Rows are "table.0.allowed". Every example names its "source": where the value is from, or what the road or the law is."""
import concurrent.futures
import inspect
import json
import math
import os
import pathlib
import re
import subprocess
import sys

sys.dont_write_bytecode = True  # the source tree stays as it is
import worked_routes  # noqa: E402

LBF, IN, PSI = 4.4482216152605, 0.0254, 6894.757293168361
UNITS = {"": 1, "%": 0.01, "m": 1, "cm": 1e-2, "mm": 1e-3, "um": 1e-6, "in": IN, "ft": 0.3048, "mm2": 1e-6, "in2": IN**2, "mm4": 1,
         "ml": 1e-6, "g": 1e-3, "kg/m3": 1, "s": 1, "ms": 1e-3, "us": 1e-6, "m/s": 1, "ft/min": 0.3048 / 60,
         "rad": 1, "deg": math.pi / 180, "turn": 2 * math.pi, "N": 1, "lbf": LBF, "N m": 1, "N mm": 1e-3, "N/m": 1, "N/mm": 1e3,
         "lbf/in": LBF / IN, "N mm/deg": 1e-3 * 180 / math.pi, "deg/(N m)": math.pi / 180, "Pa": 1, "kPa": 1e3, "MPa": 1e6,
         "GPa": 1e9, "psi": PSI, "kpsi": 1e3 * PSI, "J": 1, "W": 1, "hp": 550 * 0.3048 * LBF, "K": 1, "V": 1, "mV": 1e-3, "A": 1,
         "uA": 1e-6, "ohm": 1, "kohm": 1e3, "F": 1, "uF": 1e-6, "C": 1, "D": 1, "EV": 1, "cd/m2": 1, "lx": 1}
program = str(pathlib.Path(sys.argv[1]).resolve())
root = pathlib.Path(os.environ.get("CW_SOURCE_ROOT", ".")).resolve()


def measure(text):
    """A number with its unit, in SI."""
    number, unit = re.fullmatch(r"([-+]?[\d.]+(?:e[-+]?\d+)?)\s*(.*)", text).groups()
    return float(number) * UNITS[unit]


def run(sheet, inputs):
    command = [program, sheet] + [word for key, value in inputs.items() for word in (f"--{key}", value)] + ["--json"]
    done = subprocess.run(command, capture_output=True, text=True, timeout=60)
    assert done.returncode == 0, f"exit status {done.returncode}: {done.stderr.strip()[:400]}"
    return json.loads(done.stdout)


def find(result, path):
    at = result["outputs"]
    for part in path.split("."):
        at = at[int(part)] if part.isdigit() else at[part]
    return at


def number(result, path):
    value = find(result, path)
    assert isinstance(value, dict) and isinstance(value.get("value"), (int, float)), f"{path} is no number: {value}"
    assert math.isfinite(value["value"]), path
    return value["value"]


def in_si(inputs):
    """What was put in, numbers in SI where a unit stands, for the roads of worked_routes."""
    plain = {}
    for key, value in inputs.items():
        try:
            plain[key.replace("-", "_")] = measure(value)
        except (AttributeError, KeyError):
            plain[key.replace("-", "_")] = value
    return plain


def near(path, got, wanted, within):
    allowed = abs(wanted) * measure(within) if within.endswith("%") else measure(within)
    assert allowed > 0, f"{path}: no tolerance"
    assert abs(got - wanted) <= allowed, f"{path} is {got:.9g} where {wanted:.9g} is expected, within {allowed:.3g}"


def check_text(path, value, expected):
    said = value["verdict"] + ": " + value["text"] if isinstance(value, dict) else value
    assert isinstance(said, str) and expected in said, f"{path} says \"{said}\", not \"{expected}\""


def check(example):
    assert len(example["source"]) > 15 and example["outputs"], "an example needs its source and what comes out"
    first = run(example["sheet"], example["inputs"])
    by_road = {}
    if "route" in example:
        road = getattr(worked_routes, example["route"])
        inputs = in_si(example["inputs"])
        by_road = road(**{name: inputs[name] for name in inspect.signature(road).parameters})
    then = run(example["sheet"], {**example["inputs"], **example["then"]}) if "then" in example else None
    for path, expected in example["outputs"].items():
        if "says" in expected:
            check_text(path, find(first, path), expected["says"])
        elif "ratio" in expected:
            near(path, number(then, path) / number(first, path), expected["ratio"], expected["within"])
        elif "is" in expected:
            near(path, number(first, path), measure(expected["is"]), expected["within"])
        else:
            near(path, number(first, path), by_road[path], expected["within"])


def attempt(example):
    try:
        check(example)
    except (AssertionError, KeyError, IndexError, TypeError, AttributeError, subprocess.TimeoutExpired) as error:
        return f"{type(error).__name__} {error}" if not isinstance(error, AssertionError) else str(error)
    return None


def main():
    examples = [example for path in sorted((root / "tests/data/worked").glob("*.json"))
                for example in json.loads(path.read_text())]
    listed = sys.argv[2:] == ["--listed"]
    wanted = [] if listed else sys.argv[2:]
    said = subprocess.run([program, "sheets"], capture_output=True, text=True, check=True).stdout
    sheets = re.findall(r"^  ([a-z0-9-]+) ", said, re.M)
    failed = [f"{example['sheet']}: there is no such sheet" for example in examples if example["sheet"] not in sheets]
    if not wanted:
        failed += [f"{sheet}: fewer than two worked examples in tests/data/worked" for sheet in sheets
                   if sum(example["sheet"] == sheet for example in examples) < 2]
    chosen = [example for example in examples if not listed and (not wanted or example["sheet"] in wanted)]
    with concurrent.futures.ThreadPoolExecutor(2) as pool:
        for example, problem in zip(chosen, pool.map(attempt, chosen)):
            if problem:
                failed.append(f"{example['sheet']} ({example['source'][:60]}): {problem}")
    print("\n".join(failed))
    print(f"{len(chosen)} of {len(examples)} worked examples run, {len(sheets)} sheets, {len(failed)} failures")
    return 1 if failed or not (chosen or listed) else 0


if __name__ == "__main__":  # worked_routes.py asks this file to run a sheet
    sys.exit(main())
