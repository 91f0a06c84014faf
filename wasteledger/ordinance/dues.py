"""How a rule's ``due`` table is read: exactly one form, each with its own limits."""

from __future__ import annotations

from wasteledger.ordinance.days import Interval, Unit
from wasteledger.ordinance.fields import SLUG, Table
from wasteledger.ordinance.rules import (
    After,
    AfterQuarter,
    ByManual,
    Due,
    EachYear,
    EveryYears,
    OnDay,
    WhileLasting,
)
from wasteledger.ordinance.words import Kind, Lasting, MakerTask, Years

# Nothing that is asked of a dental practice runs longer than a century; a slip of the keyboard does.
_MOST = {Unit.DAYS: 36_500, Unit.BUSINESS_DAYS: 2_600, Unit.MONTHS: 1_200, Unit.YEARS: 100}

_FORMS = (
    *(unit.value for unit in Unit),
    "maker",
    "on",
    "lasts",
    "each",
    "every_years",
    "after_quarter_months",
)
_BESIDE = ("holidays", "opens", "from")
_ACCEPTED = (
    "Write one of { days = 90 }, { business_days = 10 }, { months = 12 }, { years = 3 }, "
    '{ maker = "inspection" }, { on = 2027-06-14 }, { lasts = "in_use" }, { each = "03-31" }, '
    "{ from = 2025-09-01, every_years = 4 }, { after_quarter_months = 1 }."
)


def read_due(rule: Table, kind: Kind | None) -> Due:
    """The form of *rule*'s ``due``; *kind* is None where the rule's kind is not known (an override)."""
    fallback = After(Interval(1, Unit.DAYS))
    due = rule.table("due", required=True)
    if due is None:
        return fallback
    forms = [form for form in _FORMS if due.has(form)]
    if "each" in forms and Unit.YEARS.value in forms:
        forms.remove(Unit.YEARS.value)  # beside a day that comes back it says which years
    if len(forms) != 1:
        said = "has no form that is known" if not forms else f"has several forms ({', '.join(forms)})"
        rule.fault("due", f"It {said}.", _ACCEPTED)
        for key in _BESIDE:
            due.has(key)
        due.close()
        return fallback
    read = _read_form(due, forms[0])
    due.close()
    if kind is Kind.DEADLINE and not fits(kind, read):
        rule.fault("due", "A deadline needs a day.", 'Count an interval, or write kind = "retention".')
    if kind is Kind.RETENTION and not fits(kind, read):
        rule.fault("due", "A record is kept for days, months or years, or while something lasts.", _ACCEPTED)
    return read


def fits(kind: Kind, due: Due) -> bool:
    """Whether a rule of that kind can have that form: a deadline needs a day, a record a term or something lasting."""
    if kind is Kind.DEADLINE:
        return not isinstance(due, WhileLasting)
    match due:
        case After(interval):
            return interval.unit is not Unit.BUSINESS_DAYS
        case WhileLasting():
            return True
        case _:
            return False


def _read_form(due: Table, form: str) -> Due:
    if form == "maker":
        return ByManual(due.word("maker", MakerTask))
    if form == "on":
        return OnDay(due.set_day("on"))
    if form == "lasts":
        return WhileLasting(due.word("lasts", Lasting))
    if form == "each":
        month, day = due.month_day("each")
        opens = due.month_day("opens") if due.has("opens") else None
        return EachYear(month, day, due.word("years", Years, default=Years.ALL), opens)
    if form == "every_years":
        return EveryYears(due.set_day("from"), due.whole("every_years", low=1, high=_MOST[Unit.YEARS]))
    if form == "after_quarter_months":
        return AfterQuarter(due.whole("after_quarter_months", low=1, high=12))
    unit = Unit(form)
    count = due.whole(form, low=1, high=_MOST[unit])
    if unit is not Unit.BUSINESS_DAYS:
        return After(Interval(count, unit))
    return After(Interval(count, unit, due.text("holidays", default="", form=SLUG, like="the id of a holiday file")))
