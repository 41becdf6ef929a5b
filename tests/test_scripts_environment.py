"""The set-up that every script goes through, run for real in a small copy of the project.

Packages come from wheels made here, so that no test needs the network.
"""

from __future__ import annotations

import ast
import json
import os
import shutil
import subprocess
import sys
import venv
import zipfile
from pathlib import Path

import pytest

import environment
import make_environment

ROOT = Path(__file__).resolve().parent.parent
VERSION = f"{sys.version_info.major}.{sys.version_info.minor}"
LIGHT = f"light-{VERSION}"

PROBE = """
import json, sys
import environment
environment.enter("light")
import numpy
print(json.dumps({"arguments": sys.argv[1:], "prefix": sys.prefix, "numpy": numpy.__version__}))
environment.leave(7)
"""


def make_wheel(folder: Path, name: str, version: str) -> None:
    """A wheel with one module that only knows its version."""
    info = f"{name}-{version}.dist-info"
    files = {
        f"{name}/__init__.py": f"__version__ = {version!r}\n",
        f"{info}/METADATA": f"Metadata-Version: 2.1\nName: {name}\nVersion: {version}\n",
        f"{info}/WHEEL": "Wheel-Version: 1.0\nGenerator: test\nRoot-Is-Purelib: true\nTag: py3-none-any\n",
    }
    record = f"{info}/RECORD"
    files[record] = "".join(f"{path},,\n" for path in [*files, record])
    with zipfile.ZipFile(folder / f"{name}-{version}-py3-none-any.whl", "w") as archive:
        for path, text in files.items():
            archive.writestr(path, text)


@pytest.fixture(scope="module")
def bare_python(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A Python with nothing but its standard library."""
    folder = tmp_path_factory.mktemp("bare")
    venv.create(folder, with_pip=False)
    return folder / "bin" / "python"


class Project:
    """A copy of the project's set-up, with requirements that the wheels made here meet."""

    def __init__(self, folder: Path, python: Path) -> None:
        self.folder = folder
        self.python = python
        self.wheels = folder / "wheels"
        self.scripts = folder / "scripts"
        self.wheels.mkdir()
        for version in ("1.99.0", "1.99.1"):
            make_wheel(self.wheels, "numpy", version)
        shutil.copytree(ROOT / "scripts", self.scripts, ignore=shutil.ignore_patterns("__pycache__"))
        self.runtime = self.scripts / "requirements" / "runtime.txt"
        self.runtime.write_text("numpy==1.99.0\n")
        (self.scripts / "probe.py").write_text(PROBE)

    def command(self, *arguments: str) -> list[str]:
        return [str(self.python), str(self.scripts / "probe.py"), *arguments]

    def environ(self, index: bool = True) -> dict[str, str]:
        links = self.wheels if index else self.folder / "nowhere"
        home = {"HOME": str(self.folder), "PATH": os.environ["PATH"]}
        return {**home, "PIP_NO_INDEX": "1", "PIP_FIND_LINKS": str(links), "PYTHONDONTWRITEBYTECODE": "1"}

    def run(self, *arguments: str, index: bool = True) -> subprocess.CompletedProcess[str]:
        return subprocess.run(
            self.command(*arguments), env=self.environ(index), capture_output=True, text=True, check=False
        )

    def environment_folder(self) -> Path:
        return self.folder / ".venv" / LIGHT


@pytest.fixture
def project(tmp_path: Path, bare_python: Path) -> Project:
    return Project(tmp_path, bare_python)


@pytest.mark.once
def test_a_bare_python_makes_the_environment_and_later_runs_only_find_it(project: Project) -> None:
    arguments = ["check", "two words", "", "--json"]
    first = project.run(*arguments)
    assert first.returncode == 7, first.stderr
    told = json.loads(first.stdout)  # one document and nothing else
    assert told["arguments"] == arguments
    assert Path(told["prefix"]) == project.environment_folder()
    assert told["numpy"] == "1.99.0"
    assert "Installing" in first.stderr

    second = project.run(*arguments, index=False)
    assert (second.returncode, second.stdout, second.stderr) == (7, first.stdout, "")

    project.runtime.write_text("numpy==1.99.1\n")
    changed = project.run()
    assert json.loads(changed.stdout)["numpy"] == "1.99.1"


@pytest.mark.once
def test_a_half_made_environment_is_made_again(project: Project) -> None:
    failed = project.run(index=False)
    assert failed.returncode == 2
    assert failed.stdout == ""
    assert failed.stderr.splitlines()[-1].startswith("error: installing the packages failed")
    assert "Traceback" not in failed.stderr

    # What a process killed in the middle of the installation leaves behind.
    folder = project.environment_folder()
    assert (folder / "unfinished").exists()
    site = folder / "lib" / f"python{VERSION}" / "site-packages"
    (site / "numpy").mkdir()
    (site / "numpy" / "__init__.py").write_text("raise SyntaxError('half a package')\n")

    again = project.run()
    assert again.returncode == 7, again.stderr
    assert json.loads(again.stdout)["numpy"] == "1.99.0"
    assert not (folder / "unfinished").exists()


@pytest.mark.once
def test_two_processes_at_once_make_one_environment(project: Project) -> None:
    pair = [
        subprocess.Popen(
            project.command(),
            env=project.environ(),
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            text=True,
        )
        for _ in range(2)
    ]
    outputs = [process.communicate() for process in pair]
    assert [process.returncode for process in pair] == [7, 7], outputs
    assert [json.loads(out)["numpy"] for out, _ in outputs] == ["1.99.0"] * 2
    assert sum("Installing" in err for _, err in outputs) == 1


def test_a_python_that_has_numpy_is_used_as_it_is(project: Project) -> None:
    project.python = Path(sys.executable)
    result = project.run(index=False)
    assert result.returncode == 7, result.stderr
    assert Path(json.loads(result.stdout)["prefix"]) == Path(sys.prefix)
    assert not (project.folder / ".venv").exists()


@pytest.mark.parametrize("beside_the_sources", [False, True])
def test_compiled_modules_are_kept_where_the_user_lets_them(
    project: Project, beside_the_sources: bool
) -> None:
    """Python itself keeps them beside the sources, unless ``PYTHONDONTWRITEBYTECODE`` is set (its documentation)."""
    (project.scripts / "used.py").write_text("")
    (project.scripts / "probe.py").write_text("import environment\nenvironment.enter()\nimport used\n")
    environ = project.environ(index=False)
    if beside_the_sources:
        del environ["PYTHONDONTWRITEBYTECODE"]
    command = [sys.executable, str(project.scripts / "probe.py")]
    subprocess.run(command, env=environ, check=True)
    assert not (project.folder / ".venv").exists()  # only a project with environments has a place for them
    (project.folder / ".venv").mkdir()
    subprocess.run(command, env=environ, check=True)
    assert len(list(project.scripts.rglob("used.*.pyc"))) == beside_the_sources
    assert len(list((project.folder / ".venv").rglob("used.*.pyc"))) == (not beside_the_sources)


def test_an_environment_of_ours_is_known_without_loading_its_packages(project: Project) -> None:
    """What is in it says its mark; a numpy that cannot be imported shows that none was."""
    env = project.environment_folder()
    venv.create(env, with_pip=False)
    shutil.copy(project.runtime, env / "installed-light.txt")
    site = env / "lib" / f"python{VERSION}" / "site-packages" / "numpy"
    site.mkdir()
    (site / "__init__.py").write_text("raise SystemExit('numpy was loaded')\n")
    (project.scripts / "probe.py").write_text(
        "import environment, sys\nenvironment.enter()\nprint(sys.prefix)\n"
    )
    result = project.run(index=False)
    assert (result.returncode, result.stderr) == (0, "")
    assert Path(result.stdout.strip()) == env


def test_a_removed_environment_never_looks_complete(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The removal is broken off after its first file: the marks must be gone by then."""
    monkeypatch.setattr(environment, "VENV", str(tmp_path))
    env = environment.environment_for("test", (3, 11), "4.2")
    python = Path(env.python)
    python.parent.mkdir(parents=True)
    python.touch()
    for name in env.sets:
        Path(env.mark(name)).write_text(env.wanted(name))
    assert env.complete()
    assert env.sound()

    def broken_off(folder: str) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(make_environment.shutil, "rmtree", broken_off)
    with pytest.raises(KeyboardInterrupt):
        make_environment._remove(env)
    assert not env.complete()
    assert not env.sound()


def test_a_shim_without_a_python_behind_it_is_passed_over(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    programs = {"shim": "exit 127", "lame": "echo 3.99; exit 1", "good": "echo 3.99"}
    for name, body in programs.items():
        program = tmp_path / name / "python3.99"
        program.parent.mkdir()
        program.write_text(f"#!/bin/sh\n{body}\n")
        program.chmod(0o755)
    monkeypatch.setenv("PATH", os.pathsep.join(str(tmp_path / name) for name in programs))
    lame: list[str] = []
    assert make_environment.find_python((3, 99), lame) == str(tmp_path / "good" / "python3.99")
    assert lame == [str(tmp_path / "lame" / "python3.99")]


@pytest.mark.parametrize("by_its_shims", [True, False])
def test_the_newest_python_under_pyenv_is_found(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, by_its_shims: bool
) -> None:
    for patch in ("3.99.2", "3.99.10"):
        program = tmp_path / "versions" / patch / "bin" / "python"
        program.parent.mkdir(parents=True)
        program.write_text("#!/bin/sh\necho 3.99\n")
        program.chmod(0o755)
    monkeypatch.setenv("PATH", str(tmp_path / "shims") if by_its_shims else "")
    monkeypatch.setenv("PYENV_ROOT", "" if by_its_shims else str(tmp_path))
    assert make_environment.find_python((3, 99)) == str(tmp_path / "versions" / "3.99.10" / "bin" / "python")


@pytest.mark.parametrize("needs", ["light", "blender"])
def test_without_a_usable_python_the_way_out_is_told(project: Project, needs: str) -> None:
    (project.scripts / "probe.py").write_text(
        "import environment\n"
        "environment.DEFAULT_BLENDER = {(3, 99): '9.9'}\n"
        "environment.BLENDERS = {'9.9': (3, 99)}\n"
        f"environment.enter({needs!r})\n"
    )
    result = project.run()
    assert result.returncode == 2
    assert result.stdout == ""
    (line,) = result.stderr.splitlines()
    assert "needs Python 3.99" in line
    assert "BLENDER=/path/to/blender python3 " in line


def test_an_unknown_blender_is_refused(capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit) as stop:
        environment.enter("test", "2.79")
    assert stop.value.code == 2
    (line,) = capsys.readouterr().err.splitlines()
    assert "2.79" in line
    assert "4.2, 4.5, 5.0, 5.1, 5.2, 5.3" in line


def test_the_python_that_runs_decides_which_blender_is_meant() -> None:
    assert environment.environment_for("test", (3, 11)).name == "blender-4.5"
    assert environment.environment_for("test", (3, 13)).name == "blender-5.2"
    for series, python_version in environment.BLENDERS.items():
        env = environment.environment_for("blender", python_version, series)
        assert env.python_version == python_version
        assert environment.pins("blender-" + series)["bpy"].startswith(series + ".")


@pytest.mark.parametrize("script", sorted((ROOT / "scripts").glob("*.py")), ids=lambda path: path.name)
def test_every_script_parses_on_python_3_8(script: Path) -> None:
    """So that a bare, old Python can still say what is missing."""
    tree = ast.parse(script.read_text(encoding="utf-8"), feature_version=(3, 8))
    first = next(node for node in tree.body if isinstance(node, ast.ImportFrom))
    assert (first.module, first.names[0].name) == ("__future__", "annotations")


def test_every_requirement_is_pinned() -> None:
    for file in (ROOT / "scripts" / "requirements").glob("*.txt"):
        pins = environment.pins(file.stem)
        assert pins, file
        assert all(pins.values()), file


@pytest.mark.once
def test_an_old_python_starts_the_set_up_too(project: Project) -> None:
    old = make_environment.find_python((3, 8))
    if old is None:
        pytest.skip("no Python 3.8 on this machine")
    project.python = Path(old)
    python_folder = str(Path(sys.executable).resolve().parent)
    environ = {**project.environ(), "PATH": python_folder}
    result = subprocess.run(project.command("x"), env=environ, capture_output=True, text=True, check=False)
    assert result.returncode == 7, result.stderr
    assert json.loads(result.stdout)["numpy"] == "1.99.0"
