"""Runs the examples of CALLING.md, each language in its own process, against the service at SASHWRIGHT_URL.

An example that fails ends the run; one for which there is no program here (Node.js) is told and passed over.
"""

import os
import re
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
RUNNERS = {
    "sh": ["bash", "-euo", "pipefail"],
    "python": [sys.executable],
    "js": ["node"],
}
SUFFIXES = {"sh": ".sh", "python": ".py", "js": ".mjs"}


def main() -> None:
    text = (ROOT / "CALLING.md").read_text()
    url = os.environ["SASHWRIGHT_URL"]
    examples = re.findall(r"^```(\w+)\n(.*?)^```$", text, re.M | re.S)
    assert {language for language, _ in examples} == set(RUNNERS), examples
    with tempfile.TemporaryDirectory() as folder:
        for name in ["scenarios", "service"]:
            (Path(folder) / name).symlink_to(ROOT / name)
        environment = os.environ | {"PYTHONPATH": str(ROOT / "clients" / "python" / "src"), "SASHWRIGHT_URL": url}
        for number, (language, source) in enumerate(examples):
            if shutil.which(RUNNERS[language][0]) is None:
                print(f"example {number} ({language}): there is no {RUNNERS[language][0]} here")
                continue
            # The address that the page sets is that of a service on its usual port.
            source = re.sub(r"^export SASHWRIGHT_URL=.*$", "", source, flags=re.M)
            file = Path(folder) / f"example{number}{SUFFIXES[language]}"
            file.write_text(source)
            ran = subprocess.run([*RUNNERS[language], file], cwd=folder, env=environment, capture_output=True, text=True, timeout=120)
            if ran.returncode != 0:
                sys.exit(f"example {number} ({language}) failed:\n{ran.stdout}\n{ran.stderr}")
            print(f"example {number} ({language}) passed: {len(ran.stdout.splitlines())} lines")


if __name__ == "__main__":
    main()
