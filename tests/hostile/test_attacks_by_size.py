"""Endless lists, tangles, far curves, deep nesting: refused, within five seconds and 500 MB each."""

import json
import subprocess
import sys
from pathlib import Path

MOST_SECONDS = 5.0
MOST_MB = 500.0
TAKEN = ("three minutes",)


def test_a_file_that_is_large_to_read_is_refused_in_time_and_memory(tmp_path):
    script = Path(__file__).parent / "attacks_by_size.py"
    subprocess.run([sys.executable, script, "make", tmp_path], check=True, timeout=120)
    done = subprocess.run(
        [sys.executable, script, "read", tmp_path], check=True, capture_output=True, encoding="utf-8", timeout=120
    )
    took = json.loads(done.stdout)
    assert len(took) > 20
    assert {name: one for name, one in took.items() if one["seconds"] > MOST_SECONDS or one["mb"] > MOST_MB} == {}
    assert {name for name, one in took.items() if not one["said"]} == set(TAKEN)
