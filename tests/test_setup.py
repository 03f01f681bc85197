"""The set-up a newcomer meets: what it says when it cannot go on, what it installs, what the package holds."""

import os
import re
import shutil
import subprocess
import sys
import tomllib
from collections.abc import Callable
from pathlib import Path

import pytest
from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

ROOT = Path(__file__).parent.parent
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))

Run = Callable[..., subprocess.CompletedProcess[str]]


@pytest.fixture
def tree(tmp_path: Path) -> Path:
    """The project where it was never set up, at a path with a space."""
    tree = tmp_path / "a tree"
    (tree / "demo").mkdir(parents=True)
    for name in ("demo/run", "demo/setup.sh", "pyproject.toml", "requirements.lock"):
        shutil.copy(ROOT / name, tree / name)
    return tree


@pytest.fixture
def path(tmp_path: Path) -> Path:
    """A folder that is all of PATH: what any system has, and no Python until a test puts one in."""
    path = tmp_path / "bin"
    path.mkdir()
    for name in ("sh", "cat", "cmp", "cp", "dirname", "grep", "head", "mkdir", "rm", "sed", "tail"):
        found = shutil.which(name)
        assert found, name
        (path / name).symlink_to(found)
    return path


@pytest.fixture
def demo(tree: Path, path: Path) -> Run:
    """Runs demo/run as a user in a C locale would, from another folder."""

    def run(*arguments: str, **environment: str) -> subprocess.CompletedProcess[str]:
        return subprocess.run(
            [tree / "demo" / "run", *arguments],
            cwd="/",
            env={"PATH": str(path), "HOME": str(tree), "LC_ALL": "C", **environment},
            stdin=subprocess.DEVNULL,
            capture_output=True,
            text=True,
        )

    return run


def python(path: Path, name: str, script: str) -> None:
    """Puts a Python on the path that answers as `script` says; `*` is every question it does not know."""
    file = path / name
    file.write_text(f"#!/bin/sh\ncase $* in\n{script}\nesac\n")
    file.chmod(0o755)


# A good Python, whose .venv/bin/python is itself and whose pip writes down what it is asked for.
GOOD = """
*version_info*) echo 3.11 ;;
*"-m venv"*) mkdir -p .venv/bin; cp "$0" .venv/bin/python ;;
*"-m pip"*) echo "$*" >>pip.log ;;
demo/play.py*) echo "$*" ;;
"""


def complaint(run: subprocess.CompletedProcess[str]) -> str:
    """What a run that failed says: one line, beside the one that tells that the set-up has begun."""
    assert run.returncode != 0
    lines = [line for line in run.stderr.splitlines() if "setting up .venv" not in line]
    assert len(lines) == 1, run.stderr
    return lines[0]


def test_no_python(demo: Run) -> None:
    assert "no Python 3.11 or later" in complaint(demo())


def test_an_old_python_is_passed_over(demo: Run, path: Path) -> None:
    """So is a version manager's stand-in for a version that it does not have."""
    python(path, "python3", "*version_info*) echo 3.9; exit 1 ;;")
    python(path, "python3.12", "*) echo 'command not found' >&2; exit 127 ;;")

    assert "no Python 3.11 or later" in complaint(demo())


def test_no_venv_module(demo: Run, path: Path) -> None:
    """Debian keeps it in a package of its own, which is named."""
    python(path, "python3", "*version_info*) echo 3.13 ;; *venv*) exit 1 ;;")

    assert "apt-get install python3.13-venv" in complaint(demo())


def test_a_python_without_venv_is_passed_over_for_one_with_it(demo: Run, path: Path) -> None:
    python(path, "python3.11", "*version_info*) echo 3.11 ;; *venv*) exit 1 ;;")
    python(path, "python3.12", GOOD)

    assert demo().returncode == 0


def test_no_network(demo: Run, path: Path) -> None:
    """What pip says is pip's own: nothing listens on port 1."""
    python(path, "python3.11", f'*) exec "{sys.executable}" "$@" ;;')

    run = demo(PIP_INDEX_URL="http://127.0.0.1:1/simple", PIP_RETRIES="1", PIP_CONFIG_FILE=os.devnull)

    assert "registry cannot be reached" in complaint(run)


def test_full_disk(demo: Run, path: Path) -> None:
    python(path, "python3.11", '*"-m venv"*) echo "OSError: [Errno 28] No space left on device"; exit 1 ;;' + GOOD)

    assert "disk is full" in complaint(demo())


def test_another_failure_is_told_in_its_own_last_line(demo: Run, path: Path) -> None:
    python(path, "python3.11", '*"-m pip"*) printf "ERROR: first\\nERROR: it is broken\\n"; exit 1 ;;' + GOOD)

    assert "it is broken" in complaint(demo())


def test_what_stands_is_not_set_up_again(demo: Run, path: Path, tree: Path) -> None:
    """The second run asks pip for nothing and says nothing of a set-up."""
    python(path, "python3.11", GOOD)
    assert "setting up .venv" in demo().stderr
    asked = (tree / "pip.log").read_text()

    again = demo("--once")

    assert (again.stdout, again.stderr) == ("demo/play.py --once\n", "")
    assert (tree / "pip.log").read_text() == asked


def test_a_changed_lock_is_installed(demo: Run, path: Path, tree: Path) -> None:
    python(path, "python3.11", GOOD)
    demo()
    (tree / "pip.log").unlink()
    with (tree / "requirements.lock").open("a") as lock:
        lock.write("# one more\n")

    demo()

    assert "--require-hashes --only-binary :all: -r requirements.lock" in (tree / "pip.log").read_text()


def test_a_tool_set_otherwise_installs_nothing(demo: Run, path: Path, tree: Path) -> None:
    python(path, "python3.11", GOOD)
    demo()
    with (tree / "pyproject.toml").open("a") as project:
        project.write("[tool.other]\n")

    assert demo().stderr == ""


def test_an_unfinished_or_moved_set_up_is_made_anew(demo: Run, path: Path, tree: Path) -> None:
    python(path, "python3.11", GOOD)
    demo()
    (tree / ".venv" / "root").write_text("/where/it/was\n")
    (tree / ".venv" / "bin" / "python").write_text("#!/bin/sh\nexit 1\n")

    assert demo().stdout == "demo/play.py\n"


@pytest.mark.parametrize("lock", ["requirements.lock", "requirements-test.lock"])
def test_the_lock_holds_what_the_project_asks_for(lock: str) -> None:
    """A dependency that is only in pyproject.toml works here and fails in a fresh clone."""
    text = (ROOT / lock).read_text(encoding="utf-8")
    locked = {
        canonicalize_name(name): version for name, version in re.findall(r"^([\w.-]+)==(\S+)", text, re.MULTILINE)
    }
    groups = PROJECT["dependency-groups"]
    asked = PROJECT["project"]["dependencies"] + groups["build"] + (groups["test"] if "test" in lock else [])

    for requirement in map(Requirement, asked):
        assert requirement.specifier.contains(locked[canonicalize_name(requirement.name)]), requirement


def test_both_locks_hold_the_same_versions() -> None:
    """Else a test run would change what the demo runs on."""
    pins = [
        set(re.findall(r"^\S+==.*", (ROOT / lock).read_text(), re.MULTILINE))
        for lock in ("requirements.lock", "requirements-test.lock")
    ]

    assert pins[0] <= pins[1]


@pytest.fixture(scope="module")
def installed(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Where `pip install .` has put the project, apart from the tree."""
    folder = tmp_path_factory.mktemp("installed")
    subprocess.run(
        [
            sys.executable,
            "-m",
            "pip",
            "install",
            "--no-index",
            "--no-deps",
            "--no-build-isolation",
            "--target",
            folder,
            ROOT,
        ],
        check=True,
        capture_output=True,
    )
    return folder


def test_the_package_carries_its_data(installed: Path) -> None:
    """Catalogues (.mo too), word lists, tables, templates and migrations are installed with the code."""
    for package in ("service", "dialogs", "locales"):
        files = [file for file in (ROOT / package).rglob("*") if file.is_file() and file.parent.name != "__pycache__"]
        assert files
        assert [file for file in files if not (installed / file.relative_to(ROOT)).exists()] == []


def test_the_package_gives_the_command(installed: Path) -> None:
    (metadata,) = installed.glob("cutday-*.dist-info")

    assert "cutday = service.__main__:main" in (metadata / "entry_points.txt").read_text()


def test_every_module_has_its_layer() -> None:
    """The import contract says nothing of a module that it does not list."""
    layers = " ".join(PROJECT["tool"]["importlinter"]["contracts"][0]["layers"])
    listed = set(re.findall(r"service\.(\w+)", layers))
    files = (ROOT / "service").iterdir()
    modules = {file.stem for file in files if file.suffix == ".py" or (file / "__init__.py").exists()} - {"__init__"}

    assert modules - listed == set()


def test_imports_point_down() -> None:
    """The layers of DEVELOPERS.md, as pyproject.toml states them."""
    lint = subprocess.run(
        [Path(sys.executable).with_name("lint-imports"), "--no-logo", "--no-cache"],
        cwd=ROOT,
        capture_output=True,
        text=True,
    )

    assert lint.returncode == 0, lint.stdout


@pytest.mark.skipif(not ((ROOT / ".git").exists() and shutil.which("git")), reason="no git checkout, or no git")
def test_the_top_of_the_tree_stays_short() -> None:
    tracked = subprocess.run(["git", "ls-files"], cwd=ROOT, capture_output=True, text=True, check=True).stdout.split()
    top = {name.split("/")[0] for name in tracked}

    assert {name for name in top if not name.startswith(".") and not name.endswith(".lock")} <= {
        "README.md", "DEVELOPERS.md", "pyproject.toml", "service", "dialogs", "locales", "tests", "demo"
    }  # fmt: skip
