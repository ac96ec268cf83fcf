"""Values put into a person's own YAML: nothing else moves."""

import pytest

from moldgen.errors import OutputError
from moldgen.feedback.writing import replace_file, with_values
from moldgen.spec import document as documents

VALUES = {"linear_shrinkage": "0.8 % ± 0.1 %", "source": "castings.csv of 2026-05-01, 8 readings"}
WRITTEN = 'linear_shrinkage: 0.8 % ± 0.1 %, source: "castings.csv of 2026-05-01, 8 readings"'


def put(text):
    return with_values(text, section="elastomer", values=VALUES, file="spec.yaml", short="based_on")


@pytest.mark.parametrize(
    ("before", "after"),
    [
        ("elastomer: pu_60a   # as bought\nw: 1", f"elastomer: {{based_on: pu_60a, {WRITTEN}}}   # as bought\nw: 1"),
        ('elastomer: "pu_60a"\r\nw: 1\r\n', f'elastomer: {{based_on: "pu_60a", {WRITTEN}}}\r\nw: 1\r\n'),
        (
            "elastomer: {based_on: pu_60a, linear_shrinkage: [1 %, 2 %],  density: 1.10} # own\n",
            "elastomer: {based_on: pu_60a, linear_shrinkage: 0.8 % ± 0.1 %,  density: 1.10, "
            'source: "castings.csv of 2026-05-01, 8 readings"} # own\n',
        ),
        (
            "elastomer:\n    # the tin\n    based_on: pu_60a  # 2nd batch\n\n# next\nw: 1\n",
            "elastomer:\n    # the tin\n    based_on: pu_60a  # 2nd batch\n    linear_shrinkage: 0.8 % ± 0.1 %\n"
            '    source: "castings.csv of 2026-05-01, 8 readings"\n\n# next\nw: 1\n',
        ),
        (
            "elastomer:\n  linear_shrinkage: 0.20 %   # sheet\n  based_on: pu_60a\n",
            "elastomer:\n  linear_shrinkage: 0.8 % ± 0.1 %   # sheet\n"
            '  source: "castings.csv of 2026-05-01, 8 readings"\n  based_on: pu_60a\n',
        ),
        (
            "w: 1\n# end\n",
            "w: 1\n# end\n\nelastomer:\n  linear_shrinkage: 0.8 % ± 0.1 %\n"
            '  source: "castings.csv of 2026-05-01, 8 readings"\n',
        ),
        ("elastomer:\nw: 1\n", f"elastomer: {{{WRITTEN}}}\nw: 1\n"),
        (
            "elastomer: {based_on: pu_60a,  # why\n  density: 1.04  # heavy\n  }\n",
            f"elastomer: {{based_on: pu_60a,  # why\n  density: 1.04, {WRITTEN}  # heavy\n  }}\n",
        ),
    ],
)
def test_only_the_values_change(before, after):
    assert put(before) == after


def test_every_way_of_writing_it_says_the_same_afterwards():
    for before in ("elastomer: pu_60a\n", "elastomer: {based_on: pu_60a}\n", "elastomer:\n  based_on: pu_60a\n"):
        read = documents.parse(put(before), "spec.yaml").data
        assert read == {"elastomer": {"based_on": "pu_60a", **VALUES}}


@pytest.mark.parametrize(
    "before",
    [
        "elastomer:\n  based_on: pu\n  linear_shrinkage:\n    - 1 %\n    # between\n    - 2 %\n# after\nw: 1\n",
        "elastomer: {based_on: pu, linear_shrinkage: [1 %, # first\n  2 %]}\n",
        "elastomer: [1, 2]\n",
    ],
)
def test_value_that_cannot_go_without_a_comment_is_left_to_the_person(before):
    with pytest.raises(OutputError, match=r"Put in yourself: linear_shrinkage: 0\.8 %"):
        put(before)


def test_document_of_its_own_takes_the_keys_at_its_top():
    text = with_values("based_on: pu_60a # c\n# d\n", section=None, values={"source": "mine"}, file="e.yaml")
    assert text == "based_on: pu_60a # c\nsource: mine\n# d\n"


def test_file_changed_meanwhile_is_left_as_it_is(tmp_path):
    file = tmp_path / "spec.yaml"
    file.write_bytes(b"new")
    with pytest.raises(OutputError, match="changed while this ran"):
        replace_file(file, old=b"old", new=b"ours")
    assert file.read_bytes() == b"new"
    assert [path.name for path in tmp_path.iterdir()] == ["spec.yaml"]


def test_file_keeps_its_permissions_and_a_link_stays_a_link(tmp_path):
    file, link = tmp_path / "spec.yaml", tmp_path / "link.yaml"
    file.write_bytes(b"old")
    file.chmod(0o640)
    link.symlink_to(file)
    replace_file(link, old=b"old", new=b"ours")
    assert link.is_symlink()
    assert file.read_bytes() == b"ours"
    assert file.stat().st_mode & 0o777 == 0o640
