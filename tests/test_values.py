"""Frozen values: they behave as Python's own frozen dataclasses do, and defining them imports nothing slow.

The reference is the standard library's `dataclasses`: the same class is written with both, and each is asked the same.
"""

from __future__ import annotations

import copy
import dataclasses
import inspect
import pickle
import subprocess
import sys
from pathlib import Path
from typing import ClassVar

import pytest
from hypothesis import given
from hypothesis import strategies as st

import tirerules
from tirerules.packs.rule import Limit, Rule
from tirerules.quantities import Quantity
from tirerules.strictest.bounds import Ceiling
from tirerules.values import Frozen, Value, field, fields, lazy, replace


class Groove(Value):
    place: int
    depth: str = "unknown"
    seen: tuple[str, ...] = field(default_factory=tuple)
    note: str = field(default="", compare=False, repr=False)
    KINDS: ClassVar[int] = 3

    @lazy
    def doubled(self) -> list[int]:
        return [self.place, self.place]


@dataclasses.dataclass(frozen=True)
class Reference:
    place: int
    depth: str = "unknown"
    seen: tuple[str, ...] = dataclasses.field(default_factory=tuple)
    note: str = dataclasses.field(default="", compare=False, repr=False)
    KINDS: ClassVar[int] = 3


class Deeper(Groove):
    depth: str = "3 mm"
    further: bool = False


class Checked(Value):
    least: int
    most: int

    def __post_init__(self) -> None:
        if self.least > self.most:
            raise ValueError("reversed")


class Nothing(Value):
    pass


_ARGUMENTS = [
    ((1,), {}),
    ((1, "2 mm"), {}),
    ((), {"place": 1}),
    ((1,), {"note": "x"}),
    ((1, "2 mm", ("a",), "x"), {}),
    ((), {"note": "x", "seen": ("b",), "depth": "2 mm", "place": 2}),
]
_WRONG = [((), {}), ((1, 2, 3, 4, 5), {}), ((1,), {"place": 1}), ((1,), {"width": 1}), ((), {"depth": "2 mm"})]


@pytest.mark.parametrize(("given_", "named"), _ARGUMENTS)
def test_arguments_are_taken_as_a_dataclass_takes_them(given_, named):
    ours, theirs = Groove(*given_, **named), Reference(*given_, **named)
    assert {name: getattr(ours, name) for name in fields(ours)} == dataclasses.asdict(theirs)
    assert repr(ours) == repr(theirs).replace("Reference", "Groove")


@pytest.mark.parametrize(("given_", "named"), _WRONG)
def test_wrong_arguments_are_refused_in_pythons_own_words(given_, named):
    with pytest.raises(TypeError) as theirs:
        Reference(*given_, **named)
    with pytest.raises(TypeError) as ours:
        Groove(*given_, **named)
    assert str(ours.value) == str(theirs.value).replace("Reference", "Groove")


def test_several_missing_arguments_are_named_in_pythons_own_words():
    class Three(Value):
        a: int
        b: int
        c: int

    def three(self: object, a: int, b: int, c: int) -> None:
        raise AssertionError

    three.__qualname__ = "Three.__init__"
    for given_ in ((), (1,), (1, 2)):
        with pytest.raises(TypeError) as theirs:
            three(None, *given_)
        with pytest.raises(TypeError) as ours:
            Three(*given_)
        assert str(ours.value) == str(theirs.value)


_grooves = st.tuples(
    st.integers(0, 2), st.sampled_from(["2 mm", "unknown"]), st.sampled_from([(), ("a",)]), st.sampled_from(["", "x"])
)


@given(_grooves, _grooves)
def test_values_are_equal_where_dataclasses_are(one, other):
    ours, theirs = (Groove(*one), Groove(*other)), (Reference(*one), Reference(*other))
    assert (ours[0] == ours[1]) is (theirs[0] == theirs[1])
    assert (hash(ours[0]) == hash(ours[1])) is (hash(theirs[0]) == hash(theirs[1]))
    assert Groove(*one) != Reference(*one)


def test_a_value_of_another_class_is_never_equal():
    assert Groove(1, "3 mm") != Deeper(1)
    assert Nothing() == Nothing()
    assert hash(Nothing()) == hash(Nothing())
    assert Nothing() != Checked(1, 2)


def test_nothing_can_be_set_or_deleted_or_added():
    value = Groove(1)
    for name in ("place", "note", "doubled", "other"):
        with pytest.raises(AttributeError, match="never changes"):
            setattr(value, name, 1)
        with pytest.raises(AttributeError, match="never changes"):
            delattr(value, name)
    assert not hasattr(value, "__dict__")
    with pytest.raises(AttributeError, match="'Groove' object has no attribute 'other'"):
        _ = value.other


def test_a_changed_copy_leaves_the_first_alone():
    value = Groove(1, note="x")
    changed = replace(value, depth="2 mm")
    assert (value.depth, changed.depth, changed.note) == ("unknown", "2 mm", "x")
    assert value.__replace__(place=5) == Groove(5)
    with pytest.raises(TypeError, match="unexpected keyword argument 'width'"):
        replace(value, width=1)
    with pytest.raises(ValueError, match="reversed"):
        replace(Checked(1, 2), least=3)


def test_what_is_lazy_is_computed_once_and_for_each_value():
    value = Groove(2)
    first = value.doubled
    assert first == [2, 2]
    assert value.doubled is first
    assert replace(value, place=3).doubled == [3, 3]
    assert "doubled" not in repr(value)
    assert value == Groove(2)


def test_values_pickle_and_copy_whole():
    for value in (Groove(1, note="x"), Deeper(1, further=True), Nothing(), Checked(1, 2)):
        for again in (pickle.loads(pickle.dumps(value)), copy.copy(value), copy.deepcopy(value)):
            assert again == value
            assert [getattr(again, name) for name in fields(value)] == [getattr(value, name) for name in fields(value)]
    assert pickle.loads(pickle.dumps(Groove(1))).doubled == [1, 1]


def test_a_subclass_has_the_fields_of_its_base_first():
    assert fields(Deeper) == ("place", "depth", "seen", "note", "further") == Deeper.__match_args__
    assert (Deeper(1).depth, Deeper(1).doubled, Deeper.KINDS) == ("3 mm", [1, 1], 3)
    match Deeper(1, "2 mm"):
        case Groove(place, depth):
            assert (place, depth) == (1, "2 mm")


def test_the_signature_is_that_of_the_fields():
    assert str(inspect.signature(Checked)) == "(least: 'int', most: 'int')"
    assert str(inspect.signature(Deeper)).startswith("(place: 'int', depth: 'str' = '3 mm', seen")
    assert [*inspect.signature(Limit).parameters] == [*fields(Limit)]


def test_a_class_that_cannot_be_a_value_is_refused():
    with pytest.raises(TypeError, match="non-default argument 'b' follows default argument 'a'"):

        class Wrong(Value):
            a: int = 1
            b: int

    with pytest.raises(TypeError, match="could change"):

        class Mutable(Value):
            a: list[int] = []  # noqa: RUF012  # that is what is refused

    with pytest.raises(TypeError, match="could change"):
        field(default={})


def test_what_is_written_by_hand_is_frozen_too():
    assert issubclass(Quantity, Frozen)
    with pytest.raises(ValueError, match="lowest terms"):
        Ceiling(2, 4, True)


# --- imports ---------------------------------------------------------------------------------------------------------

#: What makes a process start slowly, as long as nothing needs it.
SLOW = ("typing", "dataclasses", "fractions", "re", "decimal", "json", "argparse", "packaging", "yaml", "jsonschema")
SLOW += ("inspect", "importlib.resources", "pathlib", "logging", "pint", "collections.abc")

_ALONE = """
import sys
parent = type(sys)("tirerules")
parent.__path__ = [sys.argv[1]]
sys.modules["tirerules"] = parent  # the modules alone, without what the package's face imports
before = set(sys.modules)
from tirerules.packs import contradicting, pack, rule
from tirerules.quantities import measure, quantity
from tirerules.vocabulary import Dimension
from tirerules import scales
measure("1 1/2 in"), measure("6.0 mm ± 0.3 mm").low, quantity("25 deg", Dimension.ANGLE)
enacted, printed = quantity("1/4 in", Dimension.LENGTH), quantity("6 mm", Dimension.LENGTH)
limit = rule.Limit("injury.diameter", "at-most", enacted, printed)
source = rule.Source("invented", "an invented citation", "statute", "text-read")
made = rule.Rule("size", "US", "An invented rule.", frozenset(), (), limit, source)
made.groups, limit.constraint("strict"), limit.text(), limit.guards("injury.diameter"), hash(made)
print(*sorted((set(sys.modules) - before) & {*sys.argv[2:]}))
"""


def test_facts_quantities_and_rules_import_nothing_slow():
    where = str(Path(tirerules.__file__).parent)
    done = subprocess.run(
        [sys.executable, "-S", "-c", _ALONE, where, *SLOW], capture_output=True, text=True, check=False, timeout=60
    )
    assert (done.stderr, done.stdout) == ("", "\n")


def test_a_rule_takes_no_more_room_than_its_fields():
    assert Rule.__slots__ == (*fields(Rule), "groups")
