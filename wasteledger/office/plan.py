"""A practice's plan: a TOML file that says what there is, read into lines of the register.

Every fault is kept with its line and key, so that a plan is mended in one pass.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from pathlib import Path

from wasteledger.errors import NotUnderstood, WasteLedgerError
from wasteledger.model.register import (
    CarrierDetails,
    CleanerDetails,
    ContainerTypeDetails,
    FacilityDetails,
    PersonDetails,
    Register,
    Role,
    RoomDetails,
    ScaleDetails,
    SeparatorDetails,
    SiteDetails,
    TrapDetails,
)
from wasteledger.model.streams import Sharing
from wasteledger.model.traps import TrapKind
from wasteledger.model.values import Value
from wasteledger.office.plan_days import closures, near_day, working_days
from wasteledger.office.plan_files import PlanFiles
from wasteledger.office.plan_tables import RunBy
from wasteledger.ordinance import BadOrdinance
from wasteledger.ordinance.fields import Table, open_text
from wasteledger.ordinance.words import ContainerNeed, Specialty, Wastewater

# Where a plan does not say how often a trap is changed: published advice for chairside traps (at least weekly) and for
# pump filters (at least monthly); the pump's jar each quarter is common practice, no source.
_INTERVAL_DAYS = {TrapKind.LINE_FILTER: 30, TrapKind.PUMP: 91}


class BadPlan(NotUnderstood):
    """A plan with faults; ``faults`` has every one with its line."""

    code = "bad-plan"

    def __init__(self, name: str, faults: tuple[str, ...]) -> None:
        count = "1 fault" if len(faults) == 1 else f"{len(faults)} faults"
        listed = "\n".join(f"  {fault}" for fault in faults)
        super().__init__(
            f"{name}: {count}; nothing was set up.\n{listed}", hint="Mend the lines named here and set it up again."
        )
        self.faults = faults


@dataclass(frozen=True, slots=True)
class Plan:
    """What a plan says: the site's name and the lines of its register, the site's own first."""

    site: str
    lines: tuple[Register, ...]


def read_plan(text: str, name: str = "plan", *, beside: Path | None = None) -> Plan:
    """Read and check a plan.

    Args:
        text: The TOML text.
        name: What messages call it.
        beside: The plan's folder: ordinance and round files that the plan names are looked for there first.

    Raises:
        BadPlan: The plan, or a file that it names, has faults; all of them are listed.
    """
    try:
        return _Reading(open_text(text, name), name, beside).run()
    except BadOrdinance as bad:
        raise BadPlan(name, tuple(str(fault) for fault in bad.faults)) from bad


class _Reading(PlanFiles):
    def run(self) -> Plan:
        site = self.top.table("site", required=True)
        ref = self._site(site) if site else "site"
        self._ordinances()
        for key, read in (
            ("rooms", self._room),
            ("people", self._person),
            ("scales", self._scale),
            ("carriers", self._carrier),
            ("facilities", self._facility),
            ("cleaners", self._cleaner),
            ("separators", self._separator),
        ):
            self._each(self.top, key, read)
        self._streams()
        self._each(self.top, "container_types", self._container_type)
        self._each(self.top, "traps", self._trap)
        self._round()
        self.top.close()
        self.top.checks.raise_if_any()
        return Plan(ref, tuple(self.lines))

    # -- what a plan holds -----------------------------------------------------------------------------------------

    def _site(self, table: Table) -> str:
        ref, name = table.text("ref"), table.text("name")
        zone = table.text("time_zone", like="such as America/Chicago")
        from wasteledger.office.workplace import zone_named

        try:
            zone_named(zone)
        except WasteLedgerError as error:
            if zone:
                table.fault("time_zone", str(error), error.hint)
        details = self._made(
            table,
            SiteDetails,
            name=name or "?",
            time_zone=zone or "UTC",
            address=self._lines(table, "address"),
            phone=self._line(table, "phone"),
            round_the_clock_phone=self._line(table, "round_the_clock_phone"),
            owner=self._line(table, "owner"),
            identifiers=self._identifiers(table),
            chairs=self._whole(table, "chairs", 0, 0, 1000),
            amalgam_chairs=self._whole(table, "amalgam_chairs", 0, 0, 1000),
            working_days=working_days(table),
            closures=closures(table),
            warn_chance_permille=self._permille(table, "warn_chance", 100, most=50),
            specialties=self._words(table, "specialties", Specialty),
            wastewater=self._word(table, "wastewater", Wastewater),
            mobile=self._flag(table, "mobile"),
            only_emergencies=self._flag(table, "only_emergencies"),
            mailing_address=self._lines(table, "mailing_address") or None,
            contact=self._line(table, "contact") or None,
            operator=self._line(table, "operator") or None,
            discharged_before_2017_07_14=self._flag(table, "discharged_before_2017_07_14"),
            maintenance_by=self._line(table, "maintenance_by") or None,
        )
        table.close()
        if details is not None:
            self._add(table, ref, details)
        return ref

    def _identifiers(self, table: Table) -> tuple[tuple[str, str], ...]:
        if not table.has("identifiers") or table.keys["identifiers"] == []:
            return ()
        value = table.keys["identifiers"]
        pairs = [tuple(one) for one in value if isinstance(one, list)] if isinstance(value, list) else []
        if not pairs or not all(len(pair) == 2 and all(isinstance(part, str) for part in pair) for pair in pairs):
            table.fault("identifiers", "This is no list of pairs.", 'Write such as [["District permit", "D-204"]].')
            return ()
        return tuple((str(pair[0]), str(pair[1])) for pair in pairs)

    def _room(self, table: Table, ref: str, place: int) -> Value | None:
        return self._made(
            table,
            RoomDetails,
            name=table.text("name"),
            walk=self._whole(table, "walk", place + 1, 0),
            chairs=self._whole(table, "chairs", 1, 0, 100),
        )

    def _trap(self, table: Table, ref: str, place: int) -> Value | None:
        room, kind = table.text("room"), table.word("kind", TrapKind)
        if room and room not in self.refs.get("room", set()):
            table.fault("room", f"There is no room “{room}”.", "Name a room of this plan.")
        stream = table.text("stream", default="traps" if kind.is_chairside else "filters")
        streams = self.refs.get("stream", set())
        if stream not in streams:
            table.fault("stream", f"There is no stream “{stream}”.", f"Streams: {', '.join(sorted(streams))}.")
        interval = self._whole(table, "interval_days", _INTERVAL_DAYS.get(kind, 7), 1, 3650)
        return self._made(
            table,
            TrapDetails,
            room=room or "?",
            trap_kind=kind,
            walk=self._whole(table, "walk", place + 1, 0),
            interval_days=interval,
            interval_origin=table.text("interval_origin", default="office rule"),
            insert_mg=self._mass(table, "insert_mass"),
            insert_ml=self._volume(table, "insert_volume"),
            reusable=table.flag("reusable", default=False),
            stream=stream,
            dentists_permille=self._dentists(table),
        )

    def _person(self, table: Table, ref: str, place: int) -> Value | None:
        roles = table.some_words("roles", Role, required=True)
        return self._made(table, PersonDetails, name=table.text("name"), roles=tuple(dict.fromkeys(roles)))

    def _scale(self, table: Table, ref: str, place: int) -> Value | None:
        return self._made(
            table,
            ScaleDetails,
            name=table.text("name"),
            readability_mg=self._mass(table, "readability", required=True) or 1,
            tolerance_mg=self._mass(table, "tolerance", required=True) or 0,
        )

    def _party(self, table: Table) -> dict[str, object]:
        return {
            "name": table.text("name"),
            "address": self._lines(table, "address"),
            "phone": self._line(table, "phone"),
            "permit": self._line(table, "permit"),
        }

    def _carrier(self, table: Table, ref: str, place: int) -> Value | None:
        return self._made(
            table,
            CarrierDetails,
            **self._party(table),
            lead_days=self._whole(table, "lead_days", 7, 0, 366),
            sharing_rule=self._line(table, "sharing_rule"),
        )

    def _facility(self, table: Table, ref: str, place: int) -> Value | None:
        haul_miles = self._whole(table, "haul_miles", None, 0, 30_000)
        return self._made(table, FacilityDetails, **self._party(table), haul_miles=haul_miles)

    def _cleaner(self, table: Table, ref: str, place: int) -> Value | None:
        ends = [table.decimal(key, low=Decimal(0), high=Decimal(14), places=1) for key in ("ph_low", "ph_high")]
        low, high = (None if end is None else int(end * 10) for end in ends)
        return self._made(
            table,
            CleanerDetails,
            name=table.text("name"),
            ph_low_tenths=low,
            ph_high_tenths=high,
            oxidiser=table.flag("oxidiser"),
            chemistry=self._lines(table, "chemistry"),
            used_in=table.text("used_in", default="evacuation"),
            safety_sheet_on_file=table.flag("safety_sheet_on_file", default=False),
        )

    def _separator(self, table: Table, ref: str, place: int) -> Value | None:
        return self._made(
            table,
            SeparatorDetails,
            name=table.text("name"),
            make=self._line(table, "make"),
            model=self._line(table, "model"),
            serial=self._line(table, "serial"),
            installed_on=near_day(table, "installed_on"),
            chairs_served=self._whole(table, "chairs_served", 0, 0, 1000),
            standard=self._line(table, "standard"),
            manual_on_file=table.flag("manual_on_file", default=False),
            inspect_every_days=self._whole(table, "inspect_every_days", None, 1, 3650),
            replace_unit_every_months=self._whole(table, "replace_unit_every_months", None, 1, 120),
            unit_mg=self._mass(table, "unit_mass"),
            dentists_permille=self._dentists(table),
            responsible=self._line(table, "responsible"),
            removal_permille=self._share(table, "removal"),
            run_by=self._word(table, "run_by", RunBy),
            agreement_on_file=self._flag(table, "agreement_on_file"),
            certificate_on_file=self._flag(table, "certificate_on_file"),
            chairs_all=self._flag(table, "chairs_all"),
        )

    def _container_type(self, table: Table, ref: str, place: int) -> Value | None:
        streams, written = table.texts("streams", required=True), self._line(table, "written_rule")
        known = self.refs.get("stream", set())
        for stream in streams:
            if stream not in known:
                table.fault("streams", f"There is no stream “{stream}”.", f"Streams: {', '.join(sorted(known))}.")
        for one, other, sharing in self.matrix.conflicts(known.intersection(streams), written_rule=written):
            accepted = "Give them containers of their own."
            if sharing is Sharing.ASK:
                accepted = "Give them containers of their own, or name the carrier's or authority's written_rule."
            table.fault("streams", f"“{one}” and “{other}” may not share a container ({sharing}).", accepted)
        plan_at, close_at = self.marks
        return self._made(
            table,
            ContainerTypeDetails,
            name=table.text("name"),
            streams=streams or ("?",),
            written_rule=written,
            fill_ml=self._volume(table, "fill_volume"),
            mass_limit_mg=self._mass(table, "mass_limit"),
            items_limit=self._whole(table, "items_limit", None),
            tare_mg=self._mass(table, "tare"),
            plan_at_permille=self._permille(table, "plan_at", plan_at),
            close_at_permille=self._permille(table, "close_at", close_at),
            empty_lead_days=self._whole(table, "empty_lead_days", None, 0, 366),
            features=self._words(table, "features", ContainerNeed),
        )
