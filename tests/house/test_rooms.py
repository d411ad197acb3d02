"""The house keeps its walls: imports run one way, rooms know only what they may, files stay readable."""

import ast
import re
import subprocess
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
ORDER = (
    "records",
    "wear",
    "history",
    "review",
    "bench",
    "editions",
    "pages",
    "placing",
)  # later rooms may import earlier ones, never the other way
CODE = ("engine_pages", "plugins")


def imports(path: Path, root: Path = ROOT) -> set[str]:
    """The absolute names that a module imports, relative ones resolved."""
    package = ".".join(path.relative_to(root).with_suffix("").parts[:-1]).replace("plugins", "engine_pages.plugins")
    found: set[str] = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            found |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom):
            base = package.rsplit(".", node.level - 1)[0] if node.level > 1 else package
            found.add(f"{base}.{node.module or ''}".rstrip(".") if node.level else node.module or "")
    return found


def modules(room: str) -> list[Path]:
    return sorted((ROOT / room).rglob("*.py"))


def tracked() -> list[Path]:
    listing = subprocess.run(["git", "ls-files", "-z"], cwd=ROOT, check=True, capture_output=True).stdout
    return [ROOT / name for name in listing.decode().split("\0") if name]


@pytest.mark.parametrize("room", ORDER)
def test_imports_run_one_way(room: str) -> None:
    later = [f"engine_pages.{name}" for name in ORDER[ORDER.index(room) + 1 :]] + [
        "engine_pages.plugins",
        "engine_pages.commands",
        "engine_pages.cli",
    ]
    wrong = {
        f"{path.relative_to(ROOT)} imports {name}"
        for path in modules(f"engine_pages/{room}")
        for name in imports(path)
        if name.startswith(tuple(later))
    }
    assert not wrong


def test_records_do_not_know_the_numbers() -> None:
    wrong = [
        p.name for p in modules("engine_pages/records") for name in imports(p) if name.startswith("engine_pages.wear")
    ]
    assert not wrong


def test_wear_knows_numbers_only() -> None:
    allowed = {"numpy", "scipy", "msgspec", "engine_pages"}  # msgspec: what its records of numbers are made of
    standard = set(__import__("sys").stdlib_module_names)
    for path in modules("engine_pages/wear"):
        for name in imports(path):
            top = name.split(".")[0]
            assert top in allowed | standard, f"{path.name} imports {name}"
            assert top != "engine_pages" or name.startswith("engine_pages.wear"), f"{path.name} imports {name}"


def test_only_the_plugin_imports_the_generator_and_only_pages_import_templates() -> None:
    for path in modules("engine_pages"):
        for name in imports(path):
            top = name.split(".")[0]
            assert top not in ("mkdocs", "properdocs", "material"), f"{path} imports {name}"
            if top in ("jinja2", "matplotlib", "nh3"):
                assert path.is_relative_to(ROOT / "engine_pages/pages"), f"{path} imports {name}"


@pytest.mark.parametrize("line", ["from ..history.tell import tell_shop", "import engine_pages.history.tell"])
def test_the_guard_sees_a_wrong_import(tmp_path: Path, line: str) -> None:
    wrong = tmp_path / "engine_pages" / "records" / "wrong.py"
    wrong.parent.mkdir(parents=True)
    wrong.write_text(line, encoding="utf-8")
    assert "engine_pages.history.tell" in imports(wrong, tmp_path)


def test_no_file_of_code_is_over_400_lines() -> None:
    endings = {".py", ".js", ".css", ".html", ".jinja"}
    long = {
        str(path.relative_to(ROOT)): count
        for path in tracked()
        if path.suffix in endings and not path.is_relative_to(ROOT / "records")
        and (count := len(path.read_text(encoding="utf-8").splitlines())) > 400
    }  # fmt: skip
    assert not long


def test_the_top_level_holds_what_the_map_names() -> None:
    allowed = {
        "README.md", "DEVELOPERS.md", "CHANGELOG.md", "LICENSE", "pyproject.toml",
        "engine_pages", "plugins", "records", "tests", "site_template",
    }  # fmt: skip
    top = {path.relative_to(ROOT).parts[0] for path in tracked()}
    assert {name for name in top if not name.startswith(".")} <= allowed


def test_no_address_of_a_machine_stands_in_a_file() -> None:
    pattern = re.compile(rb"(/root/|[^a-z]/work/main|C:\\\\Users)")
    named = [
        str(p.relative_to(ROOT))
        for p in tracked()
        if p.suffix in {".py", ".md", ".yml", ".toml"} and pattern.search(p.read_bytes())
    ]
    assert named == ["tests/house/test_rooms.py"]
