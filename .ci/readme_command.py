"""Print one of the README's two commands, so that the gate runs what the README says and not a copy of it.

The commands stand in fenced blocks opened with ```sh demo and ```sh tests.
"""

import re
import sys
from pathlib import Path


def command(name: str) -> str:
    text = Path(__file__).parent.parent.joinpath("README.md").read_text(encoding="utf-8")
    block = re.search(rf"^```sh {name}\n(.+?)\n```$", text, re.MULTILINE | re.DOTALL)
    if block is None:
        sys.exit(f"README.md has no block opened with ```sh {name}")
    return block[1]


if __name__ == "__main__":
    print(command(sys.argv[1]))
