"""Builds random specs of every family and proves their molds; prints those whose proofs do not hold.

python benchmarks/random_specs.py [first] [end]      (0 to 500 if left out, a good half hour)

The specs are those of tests/mold/test_random_specs.py, of which the tests build the first 60.
"""

import sys
import time
import traceback
from collections import Counter
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parent.parent / "tests" / "mold"))
from test_random_specs import outcome, random_spec


def main() -> None:
    first, end = (int(sys.argv[1]), int(sys.argv[2])) if len(sys.argv) > 2 else (0, 500)
    count: Counter[str] = Counter()
    start = time.perf_counter()
    for number in range(first, end):
        try:
            failed = outcome(number)
        except Exception:  # whatever it is, it is what this script looks for
            count["fault"] += 1
            print(f"--- {number}\n{random_spec(number)}{traceback.format_exc()}", flush=True)
            continue
        count["unsound" if failed else "sound or refused with a way out"] += 1
        if failed:
            print(f"--- {number}\n{random_spec(number)}{failed}", flush=True)
    said = ", ".join(f"{n} {what}" for what, n in count.items())
    print(f"specs {first} to {end - 1}: {said}; {time.perf_counter() - start:.0f} s")
    if count["fault"] or count["unsound"]:
        sys.exit(1)


if __name__ == "__main__":
    main()
