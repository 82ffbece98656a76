"""What a runtime dependency costs against its alternatives: size on disk, import time, one typical task.

Prints one Markdown table. Packages that are not installed are left out by name, so run it in an environment that
holds the candidates: `pip install typer pydantic pygltflib matplotlib trimesh`.
"""

import importlib.metadata
import statistics
import subprocess
import sys
import time

RUNS = 7

IMPORTS = {
    "array kernels": {"numba": "numba", "llvmlite": "llvmlite.binding"},
    "geometry": {"libigl": "igl", "trimesh": "trimesh"},
    "command line": {"cyclopts": "cyclopts", "typer": "typer"},
    "settings files": {"msgspec": "msgspec", "pydantic": "pydantic"},
    "glTF": {"pygltflib": "pygltflib"},
    "pictures": {"pillow": "PIL.Image", "matplotlib": "matplotlib.pyplot"},
    "progress": {"rich": "rich.progress"},
}

COMMAND_LINES = {
    "cyclopts": """
import cyclopts
app = cyclopts.App()
@app.default
def run(n: int = 1): pass
app([], result_action="return_value")
""",
    "typer": """
import typer
app = typer.Typer()
@app.command()
def run(n: int = 1): pass
app([], standalone_mode=False)
""",
    "argparse": """
import argparse
parser = argparse.ArgumentParser()
parser.add_argument("--n", type=int, default=1)
parser.parse_args([])
""",
}


def median_run(code: str) -> float:
    """Median wall time of a fresh interpreter that runs `code`, milliseconds, less a bare interpreter's."""

    def one(text: str) -> float:
        begin = time.perf_counter()
        subprocess.run([sys.executable, "-c", text], check=True, capture_output=True)
        return (time.perf_counter() - begin) * 1e3

    one(code)
    return statistics.median(one(code) for _ in range(RUNS)) - statistics.median(one("pass") for _ in range(RUNS))


def size_of(distribution: str) -> float:
    """Megabytes that the files of a distribution take, without those it depends on."""
    files = importlib.metadata.files(distribution) or []
    paths = [file.locate() for file in files]
    return sum(path.stat().st_size for path in paths if path.exists()) / 1e6


def main() -> None:
    absent = []
    print("| for | package | version | MB | import, ms |\n|---|---|---|---|---|")
    for purpose, candidates in IMPORTS.items():
        for distribution, module in candidates.items():
            try:
                version = importlib.metadata.version(distribution)
            except importlib.metadata.PackageNotFoundError:
                absent.append(distribution)
                continue
            cost = median_run(f"import {module}")
            print(f"| {purpose} | {distribution} | {version} | {size_of(distribution):.1f} | {cost:.0f} |")
    print("\n| command line with one option | start-up, ms |\n|---|---|")
    for name, code in COMMAND_LINES.items():
        if name not in absent:
            print(f"| {name} | {median_run(code):.0f} |")
    if absent:
        print(f"\nNot installed, left out: {', '.join(absent)}")


if __name__ == "__main__":
    main()
