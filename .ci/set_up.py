"""Bring this checkout to the point where it runs: system libraries, .venv, pinned packages.

Usage: python3 .ci/set_up.py run | dev

Runs on the system's own Python and says what is missing where it cannot help. Every step looks
first, so that a second call takes a moment and touches nothing.
"""

import ctypes.util
import hashlib
import importlib.util
import os
import shutil
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
VENV = ROOT / ".venv"
STAMP = VENV / "installed"
UV_PIN = ROOT / ".ci" / "uv.txt"
CLUSTERS = Path("/etc/postgresql")


def library(name):
    return lambda: ctypes.util.find_library(name)


def font(pattern):
    return lambda: any(Path("/usr/share/fonts").rglob(pattern)) or sys.platform == "darwin"


def program(name):
    return lambda: shutil.which(name)


def postgres():
    return shutil.which("initdb") or any(Path("/usr/lib/postgresql").glob("*/bin/initdb"))


# Debian's package, what it is for, and how to see that it is there.
SYSTEM = {
    "run": [
        ("libpango-1.0-0", "text on paper", library("pango-1.0")),
        ("libpangoft2-1.0-0", "text on paper", library("pangoft2-1.0")),
        ("libharfbuzz-subset0", "small PDF files", library("harfbuzz-subset")),
        ("fonts-dejavu-core", "Hebrew and Arabic on paper", font("DejaVuSans.ttf")),
        ("fonts-noto-color-emoji", "small pictures in names", font("NotoColorEmoji.ttf")),
        ("fonts-droid-fallback", "Chinese, Japanese, Korean", font("DroidSansFallbackFull.ttf")),
    ],
    "dev": [
        ("chromium-headless-shell", "the browser tests", program("chromium-headless-shell")),
        ("libatomic1", "what drives the browser", library("atomic")),
        ("postgresql", "the second run of the tests", postgres),
    ],
}
# What does as well, only slower, where the package cannot be had.
INSTEAD = {"chromium-headless-shell": program("chromium")}


def main(purpose):
    if sys.version_info < (3, 11):  # noqa: UP036 -- this file runs on whatever python3 is
        found = ".".join(str(part) for part in sys.version_info[:2])
        sys.exit(f"Python 3.11 or newer is needed; {sys.executable} is {found}. "
                 "Name another with: make PYTHON=python3.12 ...")  # fmt: skip
    if purpose == "run" and STAMP.exists() and STAMP.read_text().startswith("dev"):
        purpose = "dev"
    system_packages(purpose)
    pinned = ROOT / ("requirements-dev.txt" if purpose == "dev" else "requirements.txt")
    digest = hashlib.sha256(UV_PIN.read_bytes() + pinned.read_bytes()).hexdigest()
    python = VENV / "bin" / "python"
    mark = f"{purpose} {digest} {python.resolve()}"
    if STAMP.exists() and STAMP.read_text() == mark:
        return
    # The system's Python may have been replaced by a newer one, under which nothing is installed.
    if not python.exists() or subprocess.run([python, "-c", "import pip"], check=False).returncode:
        run(sys.executable, "-m", "venv", "--clear", VENV)
    STAMP.unlink(missing_ok=True)
    quiet = ("--quiet", "--disable-pip-version-check", "--no-input")
    run(python, "-m", "pip", "install", *quiet, "--require-hashes", "-r", UV_PIN)
    print(f"Installing {pinned.name} into .venv ...", flush=True)
    run(VENV / "bin" / "uv", "pip", "sync", "--quiet", "--python", python,
        "--require-hashes", pinned)  # fmt: skip
    STAMP.write_text(f"{purpose} {digest} {python.resolve()}")


def system_packages(purpose):
    """Install what is missing with apt-get, or say what to install."""
    wanted = SYSTEM["run"] + (SYSTEM["dev"] if purpose == "dev" else [])
    missing = {package: why for package, why, found in wanted if not found()}
    if importlib.util.find_spec("ensurepip") is None and not (VENV / "bin" / "python").exists():
        missing[f"python3.{sys.version_info.minor}-venv"] = "the virtual environment"
    if not missing:
        return
    must = any(package not in INSTEAD or not INSTEAD[package]() for package in missing)
    admin = administrator()
    if admin is None and not must:
        return
    if admin is None:
        needs = "\n".join(f"  {package:<24} {why}" for package, why in missing.items())
        sys.exit(f"Please install first (the names are Debian's):\n{needs}")
    print("Installing", ", ".join(missing), "...", flush=True)
    clusters = set(CLUSTERS.glob("*/*"))
    apt = [*admin, "env", "DEBIAN_FRONTEND=noninteractive", "apt-get", "-q", "-y"]
    run(*apt, "update", must=must)
    run(*apt, "install", "--no-install-recommends", *missing, must=must)
    for cluster in set(CLUSTERS.glob("*/*")) - clusters:
        # Debian starts a server at once. The tests start their own, so the machine keeps none.
        run(*admin, "pg_dropcluster", "--stop", cluster.parent.name, cluster.name)


def administrator():
    """The words before a command that only root may run; None where that cannot be had."""
    if not shutil.which("apt-get"):
        return None
    if os.geteuid() == 0:
        return []
    sudo = ["sudo", "-n"]
    if not shutil.which("sudo"):
        return None
    asked = subprocess.run([*sudo, "true"], check=False, capture_output=True)
    return None if asked.returncode else sudo


def run(*command, must=True):
    words = [str(word) for word in command]
    done = subprocess.run(words, cwd=ROOT, stdin=subprocess.DEVNULL, check=False)
    if done.returncode and must:
        sys.exit(f"This failed: {' '.join(words)}")


if __name__ == "__main__":
    main(sys.argv[1])
