"""Executes the notebooks beside this file, in tests/run every second one, and fails where one fails or is kept with outputs."""

import os
import sys
import time
from pathlib import Path

import nbclient
import nbformat

HERE = Path(__file__).resolve().parent


def kept_clean(notebook):
    return all(not cell.get("outputs") and cell.get("execution_count") is None for cell in notebook.cells if cell.cell_type == "code")


def main():
    binary = Path(os.environ.get("UNLADEN", HERE.parent / "target/debug/unladen")).resolve()
    os.environ["UNLADEN"] = str(binary)
    if not binary.is_file():
        sys.exit(f"{binary} is not there: build it first")
    failed = 0
    paths = [Path(name).resolve() for name in sys.argv[1:]] or sorted(HERE.glob("*.ipynb"))
    turn = os.environ.get("UNLADEN_TEST_PARTS", "all")
    if turn != "all":
        paths = paths[int(turn) % 2 :: 2]
    for path in paths:
        notebook = nbformat.read(path, as_version=4)
        if not kept_clean(notebook):
            print(f"FAILED {path.name}: it is kept with outputs")
            failed += 1
        start = time.monotonic()
        try:
            nbclient.NotebookClient(notebook, timeout=600, resources={"metadata": {"path": str(HERE)}}).execute()
            print(f"ok     {path.name} ({time.monotonic() - start:.0f} s)")
        except (nbclient.exceptions.CellExecutionError, nbclient.exceptions.DeadKernelError) as error:
            print(f"FAILED {path.name}: {error}")
            failed += 1
    print(f"{len(paths) - failed} passed, {failed} failed")
    sys.exit(failed != 0 or not paths)


if __name__ == "__main__":
    main()
