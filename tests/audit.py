"""Known vulnerabilities of the locked run-time packages, by pip-audit; run by .ci/run.

A vulnerability fails. A machine that cannot reach the advisory service is told apart from a clean
result and does not fail: nothing was checked there, and the output says so.
"""

from __future__ import annotations

import json
import subprocess
import sys
import tempfile
from pathlib import Path
from typing import Any

LOCK = Path(__file__).resolve().parent.parent / "deploy" / "requirements.txt"


def audited(lock: Path) -> list[dict[str, Any]] | None:
    """Every package of a lock file as pip-audit reports it; None if the service was not reached."""
    command = [sys.executable, "-m", "pip_audit", "--requirement", str(lock), "--require-hashes"]
    command += ["--disable-pip", "--progress-spinner", "off", "--format", "json", "--timeout", "15"]
    run = subprocess.run(command, capture_output=True, text=True, timeout=300, check=False)
    try:
        found: list[dict[str, Any]] = json.loads(run.stdout)["dependencies"]
    except (json.JSONDecodeError, KeyError):
        return None
    return found


def first_package_of(lock: Path) -> str:
    """Lines of the first package of a lock file, enough to learn whether the service answers."""
    lines = [line for line in lock.read_text().splitlines() if not line.lstrip().startswith("#")]
    end = next(number for number, line in enumerate(lines) if not line.endswith("\\"))
    return "\n".join(lines[: end + 1]) + "\n"


def main() -> int:
    """Audit, print what was found; 1 if a locked package has a known vulnerability."""
    with tempfile.TemporaryDirectory() as folder:
        probe = Path(folder) / "requirements.txt"
        probe.write_text(first_package_of(LOCK))
        answer = audited(probe)
    if not answer or any("skip_reason" in package for package in answer):
        print("audit: NOT MADE: the advisory service does not answer from this machine")
        return 0
    packages = audited(LOCK) or []
    vulnerable = [package for package in packages if package.get("vulns")]
    for package in vulnerable:
        for each in package["vulns"]:
            print(f"audit: {package['name']} {package['version']}: {each['id']}")
    skipped = sum("skip_reason" in package for package in packages)
    print(f"audit: {len(packages)} packages, {len(vulnerable)} vulnerable, {skipped} not known")
    return 1 if vulnerable or not packages else 0


if __name__ == "__main__":
    sys.exit(main())
