"""A command loads only what it needs: the start-up is most of what a short command takes."""

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

from diagnose.cli.app import COMMANDS
from diagnose.places import bundled_cases

CODE = """
import sys, json
from diagnose.cli.running import run
code = run(json.loads(sys.argv[1]))
print(json.dumps([code, sorted(sys.modules)]), file=sys.stderr)
"""
HEAVY = {"yaml", "shapely", "numpy", "durable_rules_engine", "jinja2", "reportlab", "ezdxf", "svgelements", "starlette",
         "uvicorn"}  # fmt: skip
READINGS = ["--top", "1 in", "--waist", "1 1/2 in", "--bottom", "2 in", "--target", "2 in", "--seams", "4"]


def loaded(cache: Path, *arguments: str) -> tuple[set[str], str]:
    """The modules that a command line has loaded when it ends, in a fresh interpreter, and what it said."""
    environment = {**os.environ, "XDG_CACHE_HOME": str(cache)}
    done = subprocess.run(
        [sys.executable, "-c", CODE, json.dumps(arguments)], capture_output=True, text=True, check=True, env=environment
    )
    code, modules = json.loads(done.stderr.splitlines()[-1])
    assert code == 0, done.stderr
    return set(modules), done.stdout


@pytest.mark.parametrize("command", ["takein", "gap"])
def test_bare_numbers_need_neither_yaml_nor_geometry_nor_the_rule_engine(command: str, tmp_path: Path) -> None:
    loaded(tmp_path, command, *READINGS)
    modules, said = loaded(tmp_path, command, *READINGS)
    assert "1 in" in said
    assert not HEAVY & modules
    ours = {name for name in modules if name.startswith("diagnose.")}
    assert not {name for name in ours if name.startswith(("diagnose.plan", "diagnose.engine", "diagnose.pattern"))}
    assert not {f"diagnose.rulebase.reading.{name}" for name in ("fields", "entries", "schema", "yamlfile")} & ours


def test_a_try_on_from_a_file_loads_no_form_that_it_does_not_write(tmp_path: Path) -> None:
    case, answers = str(tmp_path / "case"), tmp_path / "answers.json"
    answers.write_text(json.dumps({"gap": {"top": "1 in", "waist": "2 in", "bottom": "3 in"}, "tension": "working"}))
    loaded(tmp_path, "new", case, "--pattern", str(bundled_cases() / "patterns" / "six-panel-corset.json"))
    modules, said = loaded(tmp_path, "tryon", case, "--answers", str(answers))
    assert "Stored as try-on 1." in said
    assert not {"reportlab", "ezdxf", "svgelements", "starlette", "uvicorn", "jinja2"} & modules
    assert not {name for name in modules if name.startswith("diagnose.workroom")}
    modules, said = loaded(tmp_path, "plan", case)
    assert "Do this first" in said
    assert not {"yaml", "reportlab", "ezdxf", "jinja2", "diagnose.rulebase.reading.load"} & modules
    assert not {name for name in modules if name.startswith("diagnose.rulebase.checking")}


@pytest.mark.parametrize("wrong", ["x", "21", "-1", "9" * 30])
def test_a_number_that_is_none_is_refused_in_a_sentence_of_ours(wrong: str, tmp_path: Path) -> None:
    done = subprocess.run(
        [sys.executable, "-m", "diagnose", "takein", *READINGS[:-1], wrong], capture_output=True, text=True, check=False
    )
    assert done.returncode == 2
    assert done.stderr == f"--seams: “{wrong}” is no number from 0 to 20. Give a whole number.\n"


def test_the_help_lists_every_command_with_its_line(tmp_path: Path) -> None:
    _, said = loaded(tmp_path, "--help")
    lines = [line.split(maxsplit=1) for line in said.splitlines()]
    told = {line[0]: line[1] for line in lines if len(line) == 2}
    assert all(len(told[name]) > 15 for name in COMMANDS)
    assert max(map(len, said.splitlines())) <= 80


def test_a_misspelt_command_is_offered_its_right_name() -> None:
    done = subprocess.run([sys.executable, "-m", "diagnose", "takin"], capture_output=True, text=True, check=False)
    assert (done.returncode, "Did you mean 'takein'?" in done.stderr) == (2, True)
