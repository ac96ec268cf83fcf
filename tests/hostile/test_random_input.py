"""Whatever is typed, a reader takes it or says why not: no other error, nothing that is no number, no waiting."""

import math

import pytest
import readers_under_attack as attacked
import yaml
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st

from moldgen import families
from moldgen.quantities import LARGEST_NUMBER, UNITS, QuantityError, parsed, parsed_readings
from moldgen.starter import starter_spec

PIECES = (
    *"0123456789+-−±/.,eE%\"'°³²⁻ \t\n\u00a0\u200b\ufeff٣०½",
    *(
        "mm",
        "in",
        "N·mm",
        "1/2",
        "+/-",
        "1e400",
        "1e-400",
        "nan",
        "inf",
        "-0",
        "0x10",
        "1_000",
        "9" * 40,
        "min-1",
        "°C",
    ),
)
TYPED = st.lists(st.sampled_from(PIECES), max_size=12).map("".join) | st.text(max_size=90)
HOSTILE = (
    st.sampled_from(
        (*("", "~", ".nan", ".inf", "-1", "0", "1e400", "9" * 400, "../x", "a\u202eb", "con", "yes", "/dev/zero"),)
    )
    | TYPED
    | st.none()
    | st.lists(TYPED, max_size=3)
    | st.dictionaries(st.sampled_from(("file", "based_on", "name", "x", "mm")), TYPED, max_size=2)
)
KINDS = (*UNITS, "temperature")


@settings(max_examples=400, deadline=5000)
@given(text=TYPED, kind=st.sampled_from(KINDS))
@example(text="9" * 80, kind="length")
@example(text="1" + " " * 78 + "/", kind="ratio")
def test_a_quantity_is_a_number_or_says_what_to_type(text, kind):
    try:
        value = parsed(text, kind)
    except QuantityError as error:
        assert error.limit and error.way_out
        return
    # A number of up to 1e12 times the largest unit's factor, which is 1e6 (a litre in mm³).
    assert math.isfinite(value) and math.isfinite(value.u) and value.u >= 0.0
    assert abs(value) <= LARGEST_NUMBER * 1e6


def test_a_value_from_a_script_is_told_in_the_same_way():
    for value in (10**5000, -(10**5000), math.nan, math.inf, -math.inf, True, None, [], {}, ["1"] * 51):
        with pytest.raises(QuantityError):
            parsed_readings(value, "length")


def places(node, place=()):
    """Every place of a spec at which something else could stand."""
    if place:
        yield place
    if isinstance(node, dict | list):
        for key, inner in node.items() if isinstance(node, dict) else enumerate(node):
            yield from places(inner, (*place, key))


def put(node, place, value):
    inner = node
    for step in place[:-1]:
        inner = inner[step]
    inner[place[-1]] = value


@settings(max_examples=200, deadline=5000, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(data=st.data(), family=st.sampled_from(families.names()))
def test_a_spec_with_anything_anywhere_is_used_or_refused(tmp_path, data, family):
    spec = yaml.load(starter_spec(family), Loader=yaml.BaseLoader)
    for _ in range(data.draw(st.integers(1, 3))):
        put(spec, data.draw(st.sampled_from(sorted(places(spec), key=str))), data.draw(HOSTILE))
    path = tmp_path / "spec.yaml"
    path.write_text(yaml.safe_dump(spec, allow_unicode=True, sort_keys=False), encoding="utf-8")
    attacked.refused(attacked.spec, path)


SCRAPS = st.sampled_from(
    (
        *(
            "a: ",
            "- ",
            "[",
            "]",
            "{",
            "}",
            "&a ",
            "*a ",
            "!!x ",
            "? ",
            "|",
            ">",
            "---\n",
            "\n",
            "  ",
            "#",
            ":",
            '"',
            "\\",
        ),
        *(
            "of,dimension,reading\n",
            "mold,",
            "casting,",
            "width,",
            "5.1",
            ";",
            "machine: ",
            "castings:\n",
            "based_on: ",
        ),
        *(
            "<svg",
            ' xmlns="http://www.w3.org/2000/svg"',
            ' width="9mm"',
            ">",
            "<path d='",
            "M0,0",
            "A1,1,0,1,1,9,9",
            "z'/>",
        ),
        *(
            "0\nSECTION\n",
            "2\nENTITIES\n",
            "0\nLINE\n",
            "10\n1e9\n",
            "0\nENDSEC\n",
            "0\nEOF\n",
            "8\n0\n",
            "0\nSPLINE\n",
        ),
        *("RIFF", "WAVEfmt ", "data", "\x00", "\xff", "\x1b[31m"),
    )
)
BYTES = st.lists(SCRAPS | st.text(max_size=4), max_size=30).map(lambda parts: "".join(parts).encode("utf-8", "replace"))


@settings(max_examples=300, deadline=5000, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(reader=st.sampled_from(sorted(attacked.READERS)), raw=BYTES | st.binary(max_size=200))
def test_a_file_of_scraps_is_read_or_refused(tmp_path, reader, raw):
    ending, read = attacked.READERS[reader]
    path = tmp_path / f"scraps{ending}"
    path.write_bytes(raw)
    attacked.refused(read, path)
