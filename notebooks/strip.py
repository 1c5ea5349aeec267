"""Strip what a run leaves in the notebooks beside this file: outputs, counts, kernel details.

Run: python notebooks/strip.py
"""

import json
from pathlib import Path

METADATA = {
    "kernelspec": {"display_name": "Python 3", "language": "python", "name": "python3"},
    "language_info": {"name": "python"},
}


def stripped(text: str) -> str:
    """Text of a notebook as it was before it was ever run, each cell with its own name."""
    book = json.loads(text)
    for cell in book["cells"]:
        cell["metadata"] = {}
        if cell["cell_type"] == "code":
            cell |= {"execution_count": None, "outputs": []}
    book["metadata"] = METADATA
    return json.dumps(book, indent=1, ensure_ascii=False, sort_keys=True) + "\n"


def main() -> None:
    """Strip them all, and name those that were changed."""
    for path in sorted(Path(__file__).parent.glob("*.ipynb")):
        before = path.read_text(encoding="utf-8")
        after = stripped(before)
        if after != before:
            path.write_text(after, encoding="utf-8", newline="\n")
            print(f"{path.name}: stripped")


if __name__ == "__main__":
    main()
