"""What every builder needs of a snapshot: its parts, its words, the frame of its paper."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import cached_property
from typing import Any

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from catalog.kinds.capabilities import CHEMISTRIES
from quoting import words
from quoting.documents.content import Fact, Frame, Notice, SettingRow
from quoting.documents.speech import Locality, figure
from quoting.documents.text import quiet, strong, typed
from quoting.sizing.appraisal import Appraisal, Lasting
from quoting.sizing.trace import Finding

DESIGNED = frozenset({"loomwright.quote/1", "loomwright.design/1"})
AS_BUILT = "loomwright.as_built/1"
GROUPS = {
    "storage": gettext_lazy("Battery and main protection"),
    "charging": gettext_lazy("Charging"),
    "ac": gettext_lazy("Mains voltage"),
    "distribution": gettext_lazy("Distribution"),
    "conductors": gettext_lazy("Cable"),
    "fittings": gettext_lazy("Fittings and comfort"),
    "sundries": gettext_lazy("Small parts"),
    "labour": gettext_lazy("Labour"),
    "other": gettext_lazy("Other"),
}


class UnknownSnapshot(ValueError):
    """A snapshot of a kind or version that this paper cannot be made from."""


@dataclass(frozen=True)
class Frozen:
    """A snapshot opened for reading. ``personal`` is ``None`` once it was erased."""

    body: dict[str, Any]
    personal: dict[str, Any] | None
    checksum: str

    @classmethod
    def open(cls, body: dict[str, Any], personal: dict[str, Any] | None, checksum: str) -> Frozen:
        return cls(typed(body), typed(personal), checksum)

    @property
    def schema(self) -> str:
        return str(self.body.get("schema", ""))

    @property
    def is_as_built(self) -> bool:
        return self.schema == AS_BUILT

    @cached_property
    def locality(self) -> Locality:
        shop = self.body["workshop"]
        return Locality(shop.get("language") or "en", shop.get("currency") or "AUD", shop.get("time_zone") or "UTC")

    @cached_property
    def appraisal(self) -> Appraisal:
        import json

        return Appraisal.model_validate_json(json.dumps(self.body["appraisal"]))

    @property
    def brief(self) -> dict[str, Any]:
        brief: dict[str, Any] = self.body["brief"]
        return brief

    @property
    def parts(self) -> dict[str, dict[str, Any]]:
        return self.body.get("parts") or {}

    @cached_property
    def positions(self) -> dict[str, str]:
        return {
            each["key"]: _("Trailer: %s") % each["name"] if each.get("on_trailer") else each["name"]
            for each in self.brief["vehicle"].get("positions", ())
        }

    def place(self, key: str) -> str:
        return self.positions.get(key, key)

    @property
    def chemistry(self) -> str:
        """Of the battery chosen; empty when none is."""
        for chosen in self.appraisal.chosen:
            if chosen.role == "battery":
                return str(self.parts.get(chosen.part, {}).get("spec", {}).get("chemistry", ""))
        return ""

    @cached_property
    def whats(self) -> frozenset[str]:
        """Kinds of nodes there are, for what applies."""
        return frozenset(node.what for node in self.appraisal.nodes)

    def has(self, *whats: str) -> bool:
        return bool(self.whats.intersection(whats))

    @property
    def has_inverter(self) -> bool:
        return self.has("inverter") or any(c.role == "inverter" for c in self.appraisal.chosen)

    @property
    def has_mains(self) -> bool:
        return self.has_inverter or self.has("inlet", "mains_charger")

    @cached_property
    def lasting(self) -> tuple[Lasting, ...]:
        """How long sets of loads run; what is the same without an inverter is said once."""
        entries = self.appraisal.lasting
        return entries if self.has_inverter else tuple(each for each in entries if each.key != "without_inverter")

    @cached_property
    def load_names(self) -> dict[str, str]:
        return {load.key: load.name for load in self.appraisal.loads}

    # --- people and vehicle ----------------------------------------------------------------------------

    def erased(self) -> str:
        return _("erased on request")

    def customer_lines(self) -> tuple[str, ...]:
        if self.personal is None:
            return (strong(self.erased()),)
        customer = self.personal["customer"]
        contact = self.personal.get("contact") or {}
        lines = [strong(customer["name"])]
        if contact.get("name") and contact["name"] != customer["name"]:
            lines.append(contact["name"])
        lines += [line.strip() for line in (customer.get("address") or "").splitlines() if line.strip()]
        lines.append(contact.get("phone") or customer.get("phone") or "")
        return tuple(line for line in lines if line)

    def vehicle_lines(self) -> tuple[str, ...]:
        vehicle = self.body["vehicle"]
        lines = [strong(str(vehicle["name"]))]
        if vehicle.get("year"):
            lines.append(str(vehicle["year"]))
        if self.personal is None:
            lines.append(_("plate: %s") % self.erased())
        else:
            own = self.personal.get("vehicle") or {}
            if own.get("registration"):
                lines.append(_("plate %s") % own["registration"])
            if own.get("vin"):
                lines.append(_("VIN %s") % own["vin"])
        odometer = self.body.get("odometer_km") or vehicle.get("odometer_km")
        if odometer:
            lines.append(f"{figure(float(odometer))} {quiet('km')}")
        return (*lines, *self._trailer_lines())

    def _trailer_lines(self) -> tuple[str, ...]:
        """The trailer that makes one system with the vehicle."""
        trailer = self.body.get("trailer")
        if not trailer:
            return ()
        plate = ((self.personal or {}).get("trailer") or {}).get("registration")
        return (_("with %s") % strong(str(trailer["name"])), *((_("plate %s") % plate,) if plate else ()))

    def plate(self) -> str:
        own = (self.personal or {}).get("vehicle") or {}
        return str(own.get("registration") or self.body["vehicle"]["name"])

    # --- frame -----------------------------------------------------------------------------------------

    def frame(self, title: str, lead: str, running: str, mark: str, dated: str, facts: Iterable[Fact] = ()) -> Frame:
        shop = self.body["workshop"]
        address = [line.strip() for line in (shop.get("address") or "").splitlines() if line.strip()]
        address = [", ".join(address)] if address else []
        if shop.get("business_no"):
            address.append(_("Business no. %s") % shop["business_no"])
        reach = [each for each in (shop.get("phone"), shop.get("email")) if each]
        spaced = " ".join(self.checksum[i : i + 4] for i in range(0, min(16, len(self.checksum)), 4))
        return Frame(
            language=shop.get("language") or "en",
            workshop=shop["name"],
            address=tuple(address),
            reach=tuple(reach),
            title=title,
            lead=lead,
            running=running,
            mark=mark,
            dated=dated,
            checksum=_("checksum %s") % spaced,
            covers=_("(first 16 of 64 signs of the frozen figures)"),
            page_words=_("page {page} of {pages}"),
            facts=tuple(facts),
        )

    def design_mark(self) -> str:
        """Which design or quote a paper stands on."""
        quote = self.body.get("quote")
        if quote and quote.get("number"):
            return _("quote %(number)s, revision %(letter)s") % {"number": quote["number"], "letter": quote["revision"]}
        design = self.body.get("design") or {}
        return _("design %s") % design["number"] if design.get("number") else _("design")

    def dated(self) -> str:
        """The day a paper's figures were frozen: delivered, issued or made."""
        quote, design = self.body.get("quote") or {}, self.body.get("design") or {}
        day = self.body.get("delivered_on") or quote.get("issued_on") or design.get("made_on")
        return self.locality.day(day)

    # --- findings --------------------------------------------------------------------------------------

    def notices(self, codes: frozenset[str] | None = None, without: frozenset[str] = frozenset()) -> tuple[Notice, ...]:
        """Findings worded, the gravest first; shortfalls of the catalogue lead."""
        order = {"danger": 0, "warning": 1, "info": 2}
        out = []
        if codes is None:
            out += [
                Notice(_("Not met"), "", words.shortfall_words(each), "danger") for each in self.appraisal.shortfalls
            ]
        wanted = [f for f in self.appraisal.findings if (codes is None or f.code in codes) and f.code not in without]
        for finding in sorted(wanted, key=lambda f: order[f.level]):
            out.append(notice(self.readable(finding)))
        return tuple(dict.fromkeys(out))  # two stops at one site say the same

    def readable(self, finding: Finding) -> Finding:
        """A finding whose subject is a name a reader knows, not a key."""
        names = {load.key: load.name for load in self.appraisal.loads}
        params = {k: (self.place(v) if isinstance(v, str) else v) for k, v in finding.params.items()}
        subject = names.get(finding.subject, self.place(finding.subject))
        return finding.model_copy(update={"params": params, "subject": subject})


def notice(finding: Finding) -> Notice:
    title, sentence = words.finding_words(finding)
    grave = {"danger": _("Danger"), "warning": _("Look at this"), "info": _("To know")}[finding.level]
    return Notice(grave, title, sentence, finding.level)


def lines_of(value: Any) -> tuple[str, ...]:
    """Typed paragraphs: a text by its line ends, or a list as it is; records by their ``name``."""
    if not value:
        return ()
    if isinstance(value, str):
        return tuple(line.strip() for line in value.splitlines() if line.strip())
    return tuple(str(each.get("name") or each.get("words")) if isinstance(each, dict) else str(each) for each in value)


def setting_rows(
    component: str, asked: dict[str, Any], entered: dict[str, Any], loads: dict[str, str] | None = None
) -> list[SettingRow]:
    """Settings of one component with their units parted from the figures; ``loads`` names what is let go."""
    rows = []
    for name in dict.fromkeys([*asked, *entered]):
        label, unit = words.setting_words(name, loads)
        rows.append(SettingRow(component, label, _value(name, asked.get(name)), _value(name, entered.get(name)), unit))
    return rows


def _value(name: str, value: Any) -> str:
    if value is None or value == "":
        return ""
    if isinstance(value, bool):
        return _("yes") if value else _("no")
    if isinstance(value, int | float):
        return figure(100 * value if name.endswith("_ratio") else value)
    return dict(CHEMISTRIES).get(str(value), str(value).replace("_", " "))
