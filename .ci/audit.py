"""Ask the public list of advisories (OSV) whether a pinned package has a known vulnerability.

Usage: python .ci/audit.py [further words for uv audit]

Ends with 1 where one is known. Where the list cannot be asked that is said, and the end is 0: the
program can be tested without a network. The pins become a project of their own in a temporary
folder, since uv audits only its own kind of lock file, which would carry a registry's address.
"""

import os
import re
import subprocess
import sys
from pathlib import Path
from tempfile import TemporaryDirectory

ROOT = Path(__file__).resolve().parent.parent
UV = ROOT / ".venv" / "bin" / "uv"
LOCKS = ["requirements.txt", "requirements-dev.txt", ".ci/uv.txt"]
PIN = re.compile(r"^([\w.-]+)(?:\[[\w,-]+\])?==([^\s;\\]+)", re.MULTILINE)
MOST_SECONDS = 20
KNOWN = 1

PROJECT = """
[project]
name = "pins-to-audit"
version = "0"
requires-python = ">=3.11"
dependencies = [{asked}]
"""
LOCK = """
version = 1
requires-python = ">=3.11"
{packages}
[[package]]
name = "pins-to-audit"
version = "0"
source = {{ virtual = "." }}
dependencies = [{needs}]
"""
PACKAGE = """
[[package]]
name = "{}"
version = "{}"
source = {{ registry = "pins" }}
"""
NEED = '{{ name = "{}", version = "{}", source = {{ registry = "pins" }} }}'


def main(words):
    pins = sorted({pin for lock in LOCKS for pin in PIN.findall((ROOT / lock).read_text("utf-8"))})
    with TemporaryDirectory() as folder:
        write_project(Path(folder), pins)
        command = [UV, "audit", "--frozen", "--no-config", "--preview-features", "audit-command"]
        try:
            done = subprocess.run(
                [*command, *words], cwd=folder, env={"UV_HTTP_RETRIES": "1", **os.environ},
                capture_output=True, text=True, stdin=subprocess.DEVNULL,
                timeout=MOST_SECONDS, check=False,
            )  # fmt: skip
        except subprocess.TimeoutExpired:
            return not_done(pins, f"no answer within {MOST_SECONDS} seconds")
    if done.returncode == KNOWN:
        print(done.stdout.strip(), done.stderr.strip(), sep="\n\n")
        return 1
    if done.returncode:
        lines = [line.strip() for line in done.stderr.splitlines() if line.strip()]
        return not_done(pins, lines[-1] if lines else f"uv ended with {done.returncode}")
    print(f"Audit: nothing is known against the {len(pins)} pinned packages.")
    return 0


def write_project(folder, pins):
    asked = ", ".join(f'"{name}=={version}"' for name, version in pins)
    packages = "".join(PACKAGE.format(*pin) for pin in pins)
    needs = ", ".join(NEED.format(*pin) for pin in pins)
    (folder / "pyproject.toml").write_text(PROJECT.format(asked=asked), "utf-8")
    (folder / "uv.lock").write_text(LOCK.format(packages=packages, needs=needs), "utf-8")


def not_done(pins, why):
    print(
        f"Audit: NOT DONE. The list of advisories was not asked about {len(pins)} packages: {why}"
    )
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
