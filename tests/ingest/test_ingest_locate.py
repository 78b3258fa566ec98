"""Lines of TOML keys, wherever the format lets them stand."""

from __future__ import annotations

import tomllib

import tomli_w
from hypothesis import given, settings
from hypothesis import strategies as st

from wearline.ingest.locate import TomlLines

TEXT = '''\
# remark with [[wheel_end]] in it
top = 1

[vehicle]  # remark
id = "a # b [c]"
note = """
[inspection]
taken_on = 1
"""
raw = \'\'\'
[[x]]\'\'\'
"quoted key" = 1
\'literal.key\' = 2
dotted.a.b = 3
list = [
  "]", # ]
  [1, 2],
]
inline = { a = 1, b = "}" }

[[wheel_end]]
at = "1L"
[wheel_end.inner]
x = 1

[[wheel_end]]
at = "1R"
[[wheel_end.deep]]
y = 1
[ spaced . "out" ]
z = 1
last = 1'''


def test_each_key_has_its_line() -> None:
    tomllib.loads(TEXT)
    lines = TomlLines(TEXT)
    expected = {
        ("top",): 2,
        ("vehicle",): 4,
        ("vehicle", "id"): 5,
        ("vehicle", "note"): 6,
        ("vehicle", "raw"): 10,
        ("vehicle", "quoted key"): 12,
        ("vehicle", "literal.key"): 13,
        ("vehicle", "dotted", "a", "b"): 14,
        ("vehicle", "list", 1): 15,
        ("vehicle", "inline", "a"): 19,
        ("wheel_end", 0): 21,
        ("wheel_end", 0, "at"): 22,
        ("wheel_end", 0, "inner", "x"): 24,
        ("wheel_end", 1, "at"): 27,
        ("wheel_end", 1, "deep", 0, "y"): 29,
        ("spaced", "out", "z"): 31,
        ("spaced", "out", "last"): 32,
    }
    assert {path: lines(path) for path in expected} == {path: f"line {n}" for path, n in expected.items()}


def test_an_unknown_path_has_no_line() -> None:
    assert TomlLines(TEXT)(("nothing",)) == ""
    assert TomlLines("")(("nothing",)) == ""


keys = st.text(st.characters(codec="utf-8", exclude_categories=("Cs", "Cc")), min_size=1, max_size=6)
scalars = st.one_of(st.integers(-9, 9), st.text(max_size=8), st.booleans())
tables = st.dictionaries(keys, st.one_of(scalars, st.lists(scalars, max_size=3)), max_size=4)


@settings(deadline=None, max_examples=150)
@given(
    st.dictionaries(keys, st.one_of(scalars, tables, st.lists(tables, min_size=1, max_size=3)), max_size=4)
)
def test_the_line_of_a_key_holds_the_key(document) -> None:
    """Whatever a writer of TOML makes of a document, the line that is named holds the key."""
    text = tomli_w.dumps(document, multiline_strings=False)
    lines = TomlLines(text)
    for key, value in document.items():
        inner = value if isinstance(value, dict) else {}
        for path in ((key,), *((key, name) for name in inner)):
            number = int(lines(path).split()[1])
            assert written(path[-1]) in text.split("\n")[number - 1]


def written(key: str) -> str:
    return tomli_w.dumps({key: 1}).rpartition(" = ")[0]
