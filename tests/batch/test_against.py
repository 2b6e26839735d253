"""The same tickets before and after an invented law of the invented place XA-01 was tightened from 6 mm to 4 mm."""

from __future__ import annotations

import json
from datetime import date

import pyarrow as pa
import pyarrow.parquet
import pytest

from tests.batch.tickets import PLAIN, few_places, table_of, xa_book
from tests.engine import pack, rule, with_packs
from tirerules.batch import BatchError, audit, changes_of
from tirerules.batch.against import Change

OLD, NEW = xa_book(6, "1.0.0"), xa_book(4, "1.1.0")
SIZES = ("3 mm", "4 mm", "5 mm", "6 mm", "7 mm", "3 mm to 5 mm")


@pytest.fixture
def tickets(tmp_path):
    rows = [
        {**PLAIN, "jurisdictions": place, "injury.diameter": size, "ticket": f"{place} {size}"}
        for place in ("XA-01", "US")
        for size in SIZES
    ]
    rows += [{**rows[0], "injury.diameter": "5", "ticket": "bad"}]
    path = tmp_path / "tickets.parquet"
    pa.parquet.write_table(table_of(rows), path)
    return path


def changed(folder):
    return [row for path in sorted(folder.glob("part-*")) for row in pa.parquet.read_table(path).to_pylist()]


def test_only_tickets_that_changed_are_told_with_both_answers(tickets, tmp_path):
    report = audit(NEW, tickets, tmp_path / "out", against=OLD, keep=["ticket"], batch_rows=2)
    rows = changed(tmp_path / "out")
    told = [(row["row"], row["ticket"], row["old_verdict"], row["new_verdict"]) for row in rows]
    assert told == [
        (2, "XA-01 5 mm", "within-limits", "outside-limits"),
        (3, "XA-01 6 mm", "within-limits", "outside-limits"),
        (5, "XA-01 3 mm to 5 mm", "within-limits", "undetermined"),
    ]
    assert [(row["old_size_limit"], row["new_size_limit"]) for row in rows] == [("at most 6 mm", "at most 4 mm")] * 3
    assert [row["new_failing_rule"] for row in rows] == ["XA-01/size", "XA-01/size", None]
    assert changes_of(report.counts) == [
        Change("XA-01", "XA-01/size", "within-limits", "outside-limits", 2),
        Change("XA-01", "none named", "within-limits", "undetermined", 1),
    ]
    assert (report.rows, report.decided, report.set_aside) == (13, 12, 1)


def test_the_journal_tells_the_counts_and_both_locks(tickets, tmp_path):
    audit(NEW, tickets, tmp_path / "out", against=OLD, keep=["ticket"])
    said = json.loads((tmp_path / "out" / "audit.json").read_text(encoding="utf-8"))
    assert (said["changed"], said["unchanged"], said["set_aside"]) == (3, 9, 1)
    assert said["changes"][0] == {
        "place": "XA-01",
        "rule": "XA-01/size",
        "old": "within-limits",
        "new": "outside-limits",
        "tickets": 2,
    }
    assert (said["against"]["XA-01"]["version"], said["packs"]["XA-01"]["version"]) == ("1.0.0", "1.1.0")


def test_a_binding_rule_that_changes_counts_though_the_verdict_does_not(tickets, tmp_path):
    """Today's rulebook has a company's own ceiling of 2 mm: 7 mm failed before, and now fails by another rule first."""
    own = with_packs(OLD, pack(rule("own-size", "limit: {fact: injury.diameter, at-most: 2 mm}")))
    report = audit(own, tickets, tmp_path / "out", against=OLD, keep=["ticket"])
    by_ticket = {row["ticket"]: row for row in changed(tmp_path / "out")}
    seven = by_ticket["XA-01 7 mm"]
    assert (seven["old_verdict"], seven["new_verdict"]) == ("outside-limits", "outside-limits")
    assert (seven["old_size_rule"], seven["new_size_rule"]) == ("XA-01/size", "invented-shop/own-size")
    assert len(by_ticket) == 12
    assert Change("XA-01", "XA-01/size", "outside-limits", "outside-limits", 1) in changes_of(report.counts)


def test_a_rule_that_binds_in_place_of_another_is_named(tmp_path):
    """The verdict stays undetermined and nothing fails; what binds on size is another rule."""
    path = tmp_path / "tickets.parquet"
    pa.parquet.write_table(table_of([{**PLAIN, "jurisdictions": "US", "injury.diameter": None}]), path)
    own = with_packs(OLD, pack(rule("own-size", "limit: {fact: injury.diameter, at-most: 2 mm}")))
    report = audit(own, path, tmp_path / "out", against=OLD)
    assert changes_of(report.counts) == [
        Change("US", "invented-shop/own-size", "undetermined", "undetermined", 1),
    ]


def test_a_ticket_that_one_rulebook_cannot_decide_is_set_aside_never_unchanged(tickets, tmp_path):
    report = audit(NEW, tickets, tmp_path / "out", against=few_places(), keep=["ticket"])
    lines = (tmp_path / "out" / "set-aside-00000.jsonl").read_text(encoding="utf-8").splitlines()
    aside = {row["ticket"]: row["reason"] for row in map(json.loads, lines)}
    assert aside["XA-01 3 mm"].startswith("by the older packs: this rulebook holds no pack for XA-01")
    assert aside["bad"].startswith("[quantity]"), "both say the same of it"
    assert report.rows == 13 == report.decided + report.set_aside
    assert set(aside) == {"bad", *(f"XA-01 {size}" for size in SIZES)}


def test_the_same_rulebook_twice_changes_nothing(tickets, tmp_path):
    report = audit(OLD, tickets, tmp_path / "out", against=OLD, keep=["ticket"])
    assert changed(tmp_path / "out") == []
    assert changes_of(report.counts) == []
    alone = audit(OLD, tickets, tmp_path / "alone", keep=["ticket"])
    assert report.counts == alone.counts, "what did not change is counted by its verdict"


def test_it_goes_on_like_any_audit_and_only_against_the_same_packs(tickets, tmp_path):
    first = audit(NEW, tickets, tmp_path / "out", against=OLD, keep=["ticket"], batch_rows=4, day=date(2026, 11, 25))
    whole = (tmp_path / "out" / "part-00001.parquet").read_bytes()
    (tmp_path / "out" / "part-00001.parquet").unlink()
    again = audit(NEW, tickets, tmp_path / "out", against=OLD, keep=["ticket"], batch_rows=4, resume=True)
    assert again == first
    assert (tmp_path / "out" / "part-00001.parquet").read_bytes() == whole
    with pytest.raises(BatchError, match="against XA-01 was"):
        audit(NEW, tickets, tmp_path / "out", against=NEW, keep=["ticket"], batch_rows=4, resume=True)
    with pytest.raises(BatchError, match=r"against was .* is none"):
        audit(NEW, tickets, tmp_path / "out", keep=["ticket"], batch_rows=4, resume=True)
