"""Finding packs and choosing among their versions, and the errors that say why that cannot be done.

All packs here are invented; built-in packs take part only where a test says so.
"""

from __future__ import annotations

import copy
import inspect
import itertools
import json
import pickle
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from packaging.specifiers import SpecifierSet
from packaging.version import Version

import tirerules
from tests.support import invented_pack, pack_text, repair_case
from tirerules import (
    CaseError,
    ConflictError,
    LockError,
    MissingDataError,
    PackError,
    PinError,
    Problem,
    QuantityError,
    ReplaceError,
    ReplayError,
    Rulebook,
    TirerulesError,
    UnknownJurisdictionError,
    errors,
    load,
)
from tirerules.data import folder
from tirerules.packs.library import builtin, choose, files_under, read_files
from tirerules.packs.reading import MAX_BYTES


def _rule(figure="6 mm"):
    return f"""\
- id: size
  says: Invented.
  activity: [repair]
  limit: {{fact: injury.diameter, at-most: {figure}}}
  source: text
"""


def _write(place, version="1.0.0", figure="6 mm", pack="invented-shop", name=None, **head):
    """Write one invented pack into the folder `place` and return its file."""
    place.mkdir(parents=True, exist_ok=True)
    file = place / (name or f"{pack}@{version}.yaml")
    file.write_text(pack_text(_rule(figure), pack=pack, version=version, **head), encoding="utf-8")
    return file


def _load(*places, **options):
    return load(*places, builtins=False, **options)


def _version(rulebook, pack="invented-shop"):
    return str(rulebook.packs[pack].version)


# --- finding ---------------------------------------------------------------------------------------------------------


def test_every_yaml_file_of_a_folder_and_its_subfolders_is_found_in_order(tmp_path):
    for name in ("b.yaml", "a.yml", "sub/deep/c.yaml", "sub/d.yaml"):
        _write((tmp_path / name).parent, name=Path(name).name)
    for other in ("notes.txt", "a.yaml.bak", "README.md"):
        (tmp_path / other).write_text("not a pack", encoding="utf-8")
    _write(tmp_path / ".hidden", name="e.yaml")
    found = [Path(str(file)).relative_to(tmp_path).as_posix() for file in files_under(tmp_path)]
    assert found == ["a.yml", "b.yaml", "sub/d.yaml", "sub/deep/c.yaml"]


def test_one_file_may_be_named_itself(tmp_path):
    file = _write(tmp_path, name="pack.of.mine")
    assert [str(found) for found in files_under(file)] == [str(file)]
    assert _version(_load(file)) == "1.0.0"
    assert _version(_load(str(file))) == "1.0.0"


def test_an_empty_folder_holds_no_pack(tmp_path):
    assert list(files_under(tmp_path)) == []
    assert dict(_load(tmp_path).packs) == {}


def test_a_missing_folder_is_an_error_and_not_an_empty_rulebook(tmp_path):
    place = tmp_path / "nowhere"
    with pytest.raises(MissingDataError, match=r"nowhere: no such file or folder"):
        _load(place)
    with pytest.raises(FileNotFoundError):
        load(place)


def test_built_in_data_that_is_not_there_is_an_error():
    with pytest.raises(MissingDataError) as refused:
        folder("no-such-data")
    assert str(refused.value) == "the built-in no-such-data are missing from this installation -- reinstall tirerules"


def test_the_built_in_packs_are_found():
    names = {file.name for file in files_under(builtin())}
    assert {"industry.yaml", "US.yaml", "US-SC.yaml"} <= names


def test_no_line_of_a_shipped_pack_is_longer_than_120_characters():
    files = [file for file in files_under(builtin()) if Path(str(file)).suffix == ".yaml"]
    assert len(files) >= 72
    long = [
        f"{file}:{number}"
        for file in files
        for number, line in enumerate(file.read_text(encoding="utf-8").splitlines(), 1)
        if len(line) > 120
    ]
    assert long == [], "write a case as a block of keys, and what most examples share under `given`; fold text by >-"


def test_the_callers_packs_stand_beside_the_built_in_ones(tmp_path):
    _write(tmp_path)
    rulebook = load(tmp_path)
    assert {"invented-shop", "industry", "US", "US-SC"} <= set(rulebook.packs)


# --- choosing --------------------------------------------------------------------------------------------------------


def test_versions_stand_side_by_side_and_the_newest_is_chosen(tmp_path):
    for version in ("1.9.0", "1.10.0", "1.2.30"):
        _write(tmp_path, version)
    assert _version(_load(tmp_path)) == "1.10.0"


def test_versions_are_compared_as_numbers_and_not_as_text():
    # PEP 440: release segments compare as integers.
    assert Version("1.10.0") > Version("1.9.0")
    packs = [invented_pack(_rule(), version=version) for version in ("1.9.0", "1.10.0")]
    assert str(choose(packs, {})[0].version) == "1.10.0"
    assert max("1.9.0", "1.10.0") == "1.9.0"


@pytest.mark.parametrize(
    ("pin", "chosen"),
    [
        ("==1.0.0", "1.0.0"),
        ("==1.*", "1.2.0"),
        ("<2", "1.2.0"),
        (">=1.1,<2", "1.2.0"),
        ("~=1.0", "1.2.0"),
        ("!=2.0.0", "1.2.0"),
        ("", "2.0.0"),
        (">=1", "2.0.0"),
    ],
)
def test_a_pin_chooses_the_newest_version_that_satisfies_it(tmp_path, pin, chosen):
    # PEP 440 version specifiers.
    for version in ("1.0.0", "1.2.0", "2.0.0"):
        _write(tmp_path, version)
    assert _version(_load(tmp_path, pins={"invented-shop": pin})) == chosen


def test_a_pin_that_nothing_satisfies_names_the_versions_found(tmp_path):
    for version in ("1.10.0", "1.9.0"):
        _write(tmp_path, version)
    with pytest.raises(PinError) as refused:
        _load(tmp_path, pins={"invented-shop": "==3.*"})
    error = refused.value
    assert (error.pack, error.wanted, error.found) == ("invented-shop", "==3.*", ("1.9.0", "1.10.0"))
    assert str(error) == "no version of pack invented-shop satisfies ==3.* (versions found: 1.9.0, 1.10.0)"


def test_a_pin_on_a_pack_that_is_not_there_is_an_error(tmp_path):
    _write(tmp_path)
    with pytest.raises(PinError) as refused:
        _load(tmp_path, pins={"invented-shp": "==1.*"})
    assert str(refused.value) == "no version of pack invented-shp satisfies ==1.* (versions found: none)"


@pytest.mark.parametrize("pin", ["1.0.0", "newest", "==", "1.x", ">=1;<2"])
def test_a_pin_that_is_no_version_specifier_is_an_error(tmp_path, pin):
    _write(tmp_path)
    with pytest.raises(PinError) as refused:
        _load(tmp_path, pins={"invented-shop": pin})
    assert refused.value.wanted == f"{pin!r}, which is no version specifier"
    assert refused.value.found == ("1.0.0",)


def test_a_built_in_pack_can_be_pinned():
    version = load().packs["industry"].version
    assert load(pins={"industry": f"=={version}"}).packs["industry"].version == version
    with pytest.raises(PinError, match=r"no version of pack industry satisfies <0\.1 "):
        load(pins={"industry": "<0.1"})


def test_one_version_with_two_contents_is_a_conflict(tmp_path):
    first = _write(tmp_path / "a", figure="6 mm")
    second = _write(tmp_path / "b", figure="7 mm")
    for order in ((tmp_path / "a", tmp_path / "b"), (tmp_path / "b", tmp_path / "a")):
        with pytest.raises(ConflictError) as refused:
            _load(*order)
        error = refused.value
        assert (error.pack, error.version) == ("invented-shop", "1.0.0")
        assert (error.first, error.second) == (str(first), str(second))
        assert str(error) == (
            f"{second}: pack invented-shop 1.0.0 stands with other content in {first}"
            " -- give the changed pack a new version, or delete one of the files"
        )


def test_a_conflict_between_versions_that_would_not_be_chosen_is_told_too(tmp_path):
    _write(tmp_path / "a", "1.0.0", figure="6 mm")
    _write(tmp_path / "b", "1.0.0", figure="7 mm")
    _write(tmp_path, "2.0.0")
    with pytest.raises(ConflictError):
        _load(tmp_path)


def test_a_comment_is_content_too(tmp_path):
    _write(tmp_path / "a")
    file = _write(tmp_path / "b")
    file.write_text(file.read_text(encoding="utf-8") + "# changed\n", encoding="utf-8")
    with pytest.raises(ConflictError):
        _load(tmp_path)


def test_the_same_file_in_two_folders_is_no_conflict(tmp_path):
    _write(tmp_path / "a")
    _write(tmp_path / "b")
    assert _version(_load(tmp_path / "a", tmp_path / "b", tmp_path)) == "1.0.0"


def test_a_rulebook_made_of_packs_keeps_the_same_promises():
    old, new = invented_pack(_rule(), version="1.0.0"), invented_pack(_rule("5 mm"), version="1.1.0")
    assert Rulebook([new, old]).packs["invented-shop"] is new
    with pytest.raises(ConflictError):
        Rulebook([old, invented_pack(_rule("7 mm"), version="1.0.0")])


_FILES = [
    # (folder, version, pack): two packs, several versions, one file that stands twice
    ("a", "1.0.0", "invented-shop"),
    ("a", "1.10.0", "invented-shop"),
    ("b", "1.9.0", "invented-shop"),
    ("b", "1.10.0", "invented-shop"),
    ("c", "2.0.0", "invented-line"),
    ("c", "1.0.0", "invented-line"),
]


@settings(max_examples=60, deadline=None)
@given(
    st.permutations(_FILES),
    st.dictionaries(
        st.sampled_from(["invented-shop", "invented-line"]), st.sampled_from(["<1.10", "==1.*", ">=1"]), max_size=2
    ),
)
def test_the_order_of_files_never_matters(files, pins):
    packs = [invented_pack(_rule(), version=version, pack=pack) for _, version, pack in files]
    chosen = {pack.id: pack for pack in choose(packs, pins)}
    for pack, versions in itertools.groupby(sorted((each[2], each[1]) for each in _FILES), key=lambda each: each[0]):
        # Chosen again with packaging alone: the newest version that the pin allows.
        allowed = SpecifierSet(pins.get(pack, "")).filter(sorted({version for _, version in versions}))
        assert str(chosen[pack].version) == max(allowed, key=Version)


def test_the_order_of_folders_never_matters(tmp_path):
    for place, version, pack in _FILES:
        _write(tmp_path / place, version, pack=pack)
    books = [_load(*(tmp_path / name for name in order)) for order in itertools.permutations("abc")]
    assert {(_version(book), _version(book, "invented-line")) for book in books} == {("1.10.0", "2.0.0")}
    assert all(_pairs(book) == _pairs(books[0]) for book in books)


def _pairs(rulebook):
    return {pack: (entry.version, entry.sha256) for pack, entry in rulebook.lock.items()}


# --- locks -----------------------------------------------------------------------------------------------------------


def test_a_lock_demands_the_same_rulebook_back(tmp_path):
    _write(tmp_path, "1.0.0")
    lock = _load(tmp_path).lock
    _write(tmp_path, "1.1.0", figure="5 mm")
    _write(tmp_path, "1.0.0", pack="invented-line")
    assert _version(_load(tmp_path)) == "1.1.0"
    again = _load(tmp_path, lock=lock)
    assert _version(again) == "1.0.0"
    assert set(again.packs) == {"invented-shop"}
    assert again.lock == lock


def test_a_lock_survives_json(tmp_path):
    _write(tmp_path)
    book = _load(tmp_path)
    text = json.dumps(tirerules.lock_to_json(book.lock))
    assert _load(tmp_path, lock=tirerules.lock_from_json(json.loads(text))).lock == book.lock


def test_a_lock_may_be_plain_pairs(tmp_path):
    _write(tmp_path)
    pairs = _pairs(_load(tmp_path))
    assert _pairs(_load(tmp_path, lock=pairs)) == pairs


def test_a_lock_refuses_changed_content_under_the_same_version(tmp_path):
    file = _write(tmp_path)
    locked = _pairs(_load(tmp_path))
    file.write_text(file.read_text(encoding="utf-8") + "# changed\n", encoding="utf-8")
    found = _pairs(_load(tmp_path))
    with pytest.raises(LockError) as refused:
        _load(tmp_path, lock=locked)
    (difference,) = refused.value.differences
    assert difference == (
        f"invented-shop 1.0.0 has other content ({found['invented-shop'][1][:12]}, "
        f"locked {locked['invented-shop'][1][:12]})"
    )
    assert str(refused.value) == f"the packs differ from the lock: {difference}"


def test_a_lock_names_every_difference_at_once(tmp_path):
    _write(tmp_path, "1.1.0")
    _write(tmp_path, "1.0.0", pack="invented-line")
    lock = {
        "invented-shop": ("1.0.0", "0" * 64),
        "invented-line": ("1.0.0", "0" * 64),
        "invented-gone": ("2.0.0", "0" * 64),
        "invented-odd": ("newest", "0" * 64),
    }
    with pytest.raises(LockError) as refused:
        _load(tmp_path, lock=lock)
    gone, line, odd, shop = refused.value.differences
    assert gone == "invented-gone 2.0.0 is not here (found: none)"
    assert line.startswith("invented-line 1.0.0 has other content (")
    assert odd == "invented-odd newest is not here (found: none)"
    assert shop == "invented-shop 1.0.0 is not here (found: 1.1.0)"


def test_a_decision_can_be_made_again_from_its_own_lock(tmp_path):
    _write(tmp_path)
    book = load(tmp_path)
    case = {"jurisdictions": ["US-SC"], "activity": "repair", "on": "2026-11-25", "tire": {"class": "passenger"}}
    decision = book.decide(case)
    _write(tmp_path, "1.5.0", figure="1 mm")
    again = load(tmp_path, lock=book.lock).decide(case)
    assert tirerules.decision_to_json(again) == tirerules.decision_to_json(decision)


# --- packs for another version of the library ------------------------------------------------------------------------


def test_a_version_for_another_library_is_passed_over_where_one_fits(tmp_path):
    _write(tmp_path, "1.0.0")
    _write(tmp_path, "2.0.0", engine=">=2")
    assert _version(_load(tmp_path)) == "1.0.0"


def test_it_may_use_words_that_this_library_does_not_know(tmp_path):
    _write(tmp_path, "1.0.0")
    file = _write(tmp_path, "2.0.0", engine=">=2")
    file.write_text(
        file.read_text(encoding="utf-8").replace("injury.diameter", "injury.invented-fact"), encoding="utf-8"
    )
    assert _version(_load(tmp_path)) == "1.0.0"


def test_it_is_refused_where_no_other_version_is_there(tmp_path):
    _write(tmp_path, "1.0.0", pack="invented-line")
    file = _write(tmp_path, "2.0.0", engine=">=2")
    with pytest.raises(PackError) as refused:
        _load(tmp_path)
    (problem,) = refused.value.problems
    assert (problem.code, problem.file, problem.line, problem.column) == ("engine", str(file), 4, 9)
    assert problem.message == f"the pack is written for tirerules >=2; this is {tirerules.__version__}"
    assert problem.hint == "install a library that fits, or use another version of the pack"


def test_every_version_that_does_not_fit_is_named_where_none_fits(tmp_path):
    files = [_write(tmp_path, version, engine=">=9") for version in ("1.0.0", "2.0.0")]
    with pytest.raises(PackError) as refused:
        _load(tmp_path)
    assert [(problem.code, problem.file) for problem in refused.value.problems] == [
        ("engine", str(file)) for file in files
    ]


def test_an_engine_specifier_of_no_form_is_told_by_the_builder(tmp_path):
    _write(tmp_path, "1.0.0")
    _write(tmp_path, "2.0.0", engine="two")
    with pytest.raises(PackError, match="'two' is no version specifier"):
        _load(tmp_path)


# --- broken files ----------------------------------------------------------------------------------------------------


def test_a_broken_head_stops_the_load_and_is_never_skipped(tmp_path):
    _write(tmp_path, "1.0.0")
    broken = _write(tmp_path / "sub", "0.9.0")
    broken.write_text(broken.read_text(encoding="utf-8").replace("0.9.0", "0.9"), encoding="utf-8")
    with pytest.raises(PackError) as refused:
        _load(tmp_path)
    assert {problem.file for problem in refused.value.problems} == {str(broken)}


def test_a_broken_rule_stops_every_case_that_needs_the_pack(tmp_path):
    broken = _write(tmp_path, figure="6")
    rulebook = load(tmp_path)
    for _ in range(2):  # it is never skipped
        for ask in (lambda: rulebook.decide(repair_case()), lambda: rulebook.packs, lambda: rulebook.packs_for(["US"])):
            with pytest.raises(PackError) as refused:
                ask()
            assert {problem.file for problem in refused.value.problems} == {str(broken)}
    assert rulebook.lock["invented-shop"].version == "1.0.0"


def test_the_problems_of_all_files_are_told_together(tmp_path):
    files = []
    for name, wrong in (("one", "6"), ("two", "6 furlong"), ("three", "six")):
        file = _write(tmp_path, pack=f"invented-{name}", name=f"{name}.yaml")
        file.write_text(file.read_text(encoding="utf-8").replace("6 mm", wrong), encoding="utf-8")
        files.append(str(file))
    rulebook = load(tmp_path)
    for ask in (lambda: rulebook.decide(repair_case()), lambda: rulebook.packs):
        with pytest.raises(PackError) as refused:
            ask()
        assert sorted(problem.file for problem in refused.value.problems) == sorted(files)


class _Watched:
    """A file that notes how much of it is asked for."""

    def __init__(self, file):
        self.file, self.asked = file, []

    def __str__(self):
        return str(self.file)

    def open(self, mode):
        self.stream = self.file.open(mode)
        return self

    def read(self, size=-1):
        self.asked.append(size)
        return self.stream.read(size)

    def __enter__(self):
        return self

    def __exit__(self, *_):
        self.stream.close()


def test_a_huge_file_is_never_read_whole(tmp_path):
    file = tmp_path / "huge.yaml"
    with file.open("wb") as stream:
        stream.truncate(50 * MAX_BYTES)  # sparse: takes no space
    watched = _Watched(file)
    with pytest.raises(PackError) as refused:
        read_files([watched])
    assert sum(watched.asked) == MAX_BYTES + 1
    assert [problem.code for problem in refused.value.problems] == ["file-too-large"]


# --- jurisdictions of a rulebook -------------------------------------------------------------------------------------


def test_a_rulebook_names_the_packs_that_answer_for_a_code(tmp_path):
    _write(tmp_path)
    book = load(tmp_path)
    assert {pack.id for pack in book.packs_for(["US-SC"])} == {"industry", "invented-shop", "US", "US-SC"}
    assert {pack.id for pack in book.packs_for(["US"])} == {"industry", "invented-shop", "US"}


@pytest.mark.parametrize(
    ("code", "real", "text"),
    [
        ("US-SX", False, "'US-SX' is no jurisdiction code (ISO 3166: US, CA, US-SC, CA-ON ...) -- did you mean "),
        ("South Carolina", False, "'South Carolina' is no jurisdiction code (ISO 3166: US, CA, US-SC, CA-ON ...)"),
        ("", False, "'' is no jurisdiction code (ISO 3166: US, CA, US-SC, CA-ON ...)"),
        ("us-sc", False, "'us-sc' is no jurisdiction code"),
        ("US-GA", True, "this rulebook holds no pack for US-GA, so nothing can be said about it (it holds: US, US-UM)"),
        ("CA", True, "this rulebook holds no pack for CA, so nothing can be said about it (it holds: US, US-UM)"),
        ("CA-ON", True, "this rulebook holds no pack for CA, so nothing can be said about it (it holds: US, US-UM)"),
    ],
)
def test_an_unknown_code_is_an_error_and_never_the_baseline_in_silence(code, real, text):
    law = {"coverage": "{repair: rules}", "authority": "statute"}
    book = Rulebook(
        [
            invented_pack(_rule(), pack="US", kind="country", **law),
            invented_pack(_rule(), pack="US-UM", kind="jurisdiction", **law),
        ]
    )
    assert book.codes == ("US", "US-UM")
    with pytest.raises(UnknownJurisdictionError) as refused:
        book.packs_for([code])
    assert refused.value.real is real
    assert str(refused.value).startswith(text)


# --- errors ----------------------------------------------------------------------------------------------------------

_PROBLEMS = [Problem("date", "no day", "write YYYY-MM-DD", "a.yaml", 3, 7, "reviewed"), Problem("x", "m")]
_RAISED = [
    (QuantityError("6", "is a bare number without a unit", 'write "6 mm"'), ValueError),
    (QuantityError(6.5, "is a bare number without a unit"), ValueError),
    (PackError(_PROBLEMS), ValueError),
    (CaseError(_PROBLEMS), ValueError),
    (ReplayError(_PROBLEMS), ValueError),
    (errors.ProblemsError(_PROBLEMS), ValueError),
    (ConflictError("invented-shop", "1.0.0", "a.yaml", "b.yaml"), ValueError),
    (PinError("invented-shop", "==2.*", ["1.0.0", "1.1.0"]), LookupError),
    (PinError("invented-shop", "==2.*", []), LookupError),
    (LockError(["one is not here", "other has other content"]), LookupError),
    (ReplaceError("industri", ["industry", "invented-shop"]), LookupError),
    (ReplaceError("industry", []), LookupError),
    (LockError(["one is not here"], "name where it is"), LookupError),
    (MissingDataError("nowhere: no such file or folder"), FileNotFoundError),
    (UnknownJurisdictionError("US-SX", False, ["US-SC", "US-SD"]), LookupError),
    (UnknownJurisdictionError("US-UM", True, ["US", "US-SC"]), LookupError),
    (TirerulesError("invented"), Exception),
]
_IDS = [f"{type(error).__name__}-{index}" for index, (error, _) in enumerate(_RAISED)]


def test_every_error_class_stands_in_the_table():
    classes = {kind for _, kind in inspect.getmembers(errors, inspect.isclass) if issubclass(kind, BaseException)}
    assert classes == {type(error) for error, _ in _RAISED}


@pytest.mark.parametrize(("error", "builtin_kind"), _RAISED, ids=_IDS)
def test_an_error_shares_the_base_and_inherits_the_nearest_builtin(error, builtin_kind):
    assert isinstance(error, TirerulesError)
    assert isinstance(error, builtin_kind)


@pytest.mark.parametrize("error", [error for error, _ in _RAISED], ids=_IDS)
@pytest.mark.parametrize("again", [lambda error: pickle.loads(pickle.dumps(error)), copy.copy, copy.deepcopy])
def test_an_error_survives_pickling_and_copying_with_its_data(error, again):
    twin = again(error)
    assert type(twin) is type(error)
    assert vars(twin) == vars(error)
    assert (str(twin), twin.args) == (str(error), error.args)


def test_an_error_that_was_really_raised_survives_pickling(tmp_path):
    _write(tmp_path, engine=">=9")
    with pytest.raises(PackError) as refused:
        _load(tmp_path)
    assert pickle.loads(pickle.dumps(refused.value)).problems == refused.value.problems


@pytest.mark.parametrize(
    ("problem", "text"),
    [
        (_PROBLEMS[0], "a.yaml:3:7: [date] at reviewed no day -- write YYYY-MM-DD"),
        (_PROBLEMS[1], "[x] m"),
        (Problem("x", "m", file="a.yaml"), "a.yaml: [x] m"),
        (Problem("x", "m", path="tire.class"), "[x] at tire.class m"),
        (Problem("x", "m", "h", line=2, column=4), "2:4: [x] m -- h"),
    ],
)
def test_a_problem_names_place_cause_and_cure(problem, text):
    assert str(problem) == text


def test_problems_are_printed_one_a_line():
    assert str(PackError(_PROBLEMS)) == "a.yaml:3:7: [date] at reviewed no day -- write YYYY-MM-DD\n[x] m"


@pytest.mark.parametrize(
    ("word", "known", "offered"),
    [
        ("pasenger", ["passenger", "motorcycle"], ("passenger",)),
        ("inchs", ["in", "inch", "inches"], ("inch", "inches")),
        ("tire.clas", ["tire.class", "tire.size", "tire.age"], ("tire.class",)),
        ("zzz", ["passenger", "motorcycle"], ()),
        ("", ["passenger"], ()),
        ("x", [], ()),
    ],
)
def test_the_nearest_words_are_offered(word, known, offered):
    assert errors.nearest(word, known) == offered
    assert errors.nearest(word, reversed(known)) == offered
