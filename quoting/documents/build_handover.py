"""From a system as built to what its owner reads: figures and tables. The plain advice is in ``advice.py``."""

from __future__ import annotations

from typing import Any

from django.utils.translation import gettext as _

from catalog import kinds
from quoting.documents import advice, as_found, cautions, hitching, weathers
from quoting.documents.build_quote import lasting_name, worn_ratio
from quoting.documents.common import Frozen, setting_rows
from quoting.documents.content import (
    Bar,
    BarChart,
    Fact,
    FittedRow,
    HandoverContent,
    SettingRow,
    ShedStep,
    SourceRow,
)
from quoting.documents.speech import figure, in_unit, percent, quantity, scale_of, unparted
from quoting.documents.text import strong
from quoting.sizing.appraisal import Lasting, SourceSummary


def handover_content(frozen: Frozen) -> HandoverContent:
    """Everything a handover sheet prints."""
    body = frozen.body
    title = body["job"].get("title") or body["brief"]["title"]
    number = body["job"]["number"]
    return HandoverContent(
        frame=frozen.frame(
            title=_("Handover sheet"),
            lead=_("%(title)s: how to live with your %(volts)s auxiliary system")
            % {"title": title, "volts": quantity(frozen.appraisal.system_v, "V")},
            running=_("Handover sheet: %(title)s, %(plate)s") % {"title": title, "plate": frozen.plate()},
            mark=_("Handover sheet, job %s") % number,
            dated=_("%(day)s, as built, %(design)s") % {"day": frozen.dated(), "design": frozen.design_mark()},
            facts=_facts(frozen),
        ),
        opening=(
            _(
                "Keep this sheet in the vehicle. The last page is for an emergency: turn the sheet over and "
                "it is in front of you."
            ),
        ),
        fitted=tuple(
            FittedRow(
                _what(frozen, part),
                part.get("part_number") or "",
                ", ".join(
                    each
                    for each in (part.get("serial") or "", _("batch %s") % part["batch"] if part.get("batch") else "")
                    if each
                ),
            )
            for part in body.get("fitted") or ()
        ),
        lasting_words=_(
            "From a full battery, with no sun, no driving and no mains. The dark bar is a battery worn to "
            "%s, some years "
            "from now; the pale bar is what a new one adds."
        )
        % percent(worn_ratio(frozen)),
        charts=_charts(frozen),
        limits=advice.limits(frozen),
        sources=tuple(_source(frozen, each) for each in frozen.appraisal.sources),
        sources_note=_(
            "From reserve to full, nothing else drawing. The current falls when the battery is nearly "
            "full: that is right."
        ),
        shedding_words=_(
            "To keep the important things running, the system lets go in steps as the charge falls. What is not named "
            "here lives on what is kept back."
        ),
        shedding=_shedding(frozen),
        parked=(*advice.parked(frozen), *hitching.unhitching(frozen)),
        trouble=advice.trouble(frozen),
        care=advice.care(frozen),
        spares=_spares(frozen),
        settings=_settings(frozen),
        notices=frozen.notices(without=weathers.TOLD),
        papers=(*advice.papers(frozen), *advice.by_hand(frozen)),
        emergency=advice.emergency(frozen),
        emergency_words=advice.emergency_words(frozen),
        cautions=(*cautions.living(frozen), cautions.answering()),
        found=as_found.parts(frozen),
        defects=as_found.defects(frozen),
        living=weathers.living(frozen),
        off_and_on=weathers.off_and_on(frozen),
    )


def _what(frozen: Frozen, fitted: dict[str, Any]) -> str:
    """What a part is, then its name: an owner knows no part numbers."""
    kind = next((p["kind"] for p in frozen.parts.values() if p.get("part_number") == fitted.get("part_number")), "")
    if not kind:
        return str(fitted["name"])
    label = _(str(kinds.get(kind).label))
    return _("%(what)s, %(name)s") % {"what": f"{label[:1].upper()}{label[1:]}", "name": fitted["name"]}


def _facts(frozen: Frozen) -> tuple[Fact, ...]:
    body, money = frozen.body, frozen.locality
    handed = [strong(money.day(body["delivered_on"]))]
    if body.get("certificate_no"):
        handed.append(_("certificate %s") % body["certificate_no"])
    shop = body["workshop"]
    return (
        Fact(_("Owner"), frozen.customer_lines()),
        Fact(_("Vehicle"), frozen.vehicle_lines()),
        Fact(_("Handed over"), tuple(handed)),
        Fact(
            _("Faults and questions"),
            tuple(
                each for each in (strong(shop["name"]), unparted(shop.get("phone") or ""), shop.get("email")) if each
            ),
        ),
    )


def _charts(frozen: Frozen) -> tuple[BarChart, ...]:
    """Sets of loads on one scale, single appliances on another."""
    entries = [each for each in frozen.lasting if each.new_h > 0]
    sets = [each for each in entries if not each.key.startswith("load:")]
    single = sorted((each for each in entries if each.key.startswith("load:")), key=lambda each: -each.power_w)[:4]
    charts = (("", sets), (_("One appliance alone, as it is used in your day"), single))
    return tuple(BarChart(title, tuple(_bar(frozen, each) for each in members)) for title, members in charts if members)


def _bar(frozen: Frozen, entry: Lasting) -> Bar:
    return Bar(_short_name(frozen, entry), _short_until(entry), entry.worn_h, entry.new_h)


def _short_name(frozen: Frozen, entry: Lasting) -> str:
    names = {
        "everything": _("Everything"),
        "without_inverter": _("All but mains"),
        "always_live": _("Always live"),
        "essential": _("Essentials"),
    }
    return names.get(entry.key) or lasting_name(frozen, entry)


def _short_until(entry: Lasting) -> str:
    left = percent(entry.until_ratio)
    if entry.until != "shed":
        return _("down to %s") % left if entry.until_ratio > 0 else _("until it is empty")
    return (
        _("until it goes off at %s") % left if entry.key.startswith("load:") else _("until things go off at %s") % left
    )


def _source(frozen: Frozen, source: SourceSummary) -> SourceRow:
    hours = source.hours_to_full
    full, unit = (_("not alone"), "") if hours is None else in_unit(hours, scale_of(hours, days_from_h=48))
    names = {"engine": _("Engine"), "mains": _("Mains"), "sun": _("Sun"), "together": _("All together")}
    on = source.unit_name or _("the charger")
    see = {
        "engine": _(
            "With the engine running the monitor shows up to %(current)s going in; %(unit)s shows that it charges."
        ),
        "mains": _(
            "Plugged in, the monitor shows up to %(current)s going in; press the test button of the "
            "residual-current device first."
        ),
        "sun": _(
            "By mid-morning the monitor shows current going in; about %(current)s at noon on a usual day of your trip, "
            "more in better sun. %(unit)s shows that it charges."
        ),
        "together": _(
            "Everything at once, in such a sun: up to %(current)s. The battery and its protection set the limit."
        ),
    }[source.source] % {"current": quantity(source.current_a, "A"), "unit": on}
    return SourceRow(names[source.source], full, unit, figure(source.current_a), "A", see)


def _shedding(frozen: Frozen) -> tuple[ShedStep, ...]:
    """Thresholds from the loads themselves, the first to go off at the head."""
    groups: dict[float, list[str]] = {}
    for load in frozen.appraisal.loads:
        if load.shed_below_ratio:
            groups.setdefault(load.shed_below_ratio, []).append(load.name)
    return tuple(ShedStep(ratio, _listed(names)) for ratio, names in sorted(groups.items(), reverse=True))


def _listed(names: list[str], most: int = 4) -> str:
    if len(names) > most:
        return _("%(names)s and %(n)s more") % {"names": ", ".join(names[:most]), "n": len(names) - most}
    return ", ".join(names)


def _spares(frozen: Frozen) -> tuple[tuple[str, str, str], ...]:
    """Fuses by rating, with how many are fitted and where: what to carry."""
    found: dict[tuple[str, float], list[str]] = {}
    for circuit in frozen.appraisal.circuits:
        for device in circuit.devices:
            if device.what == "fuse":
                found.setdefault((device.name, device.rating_a), []).append(device.tag)
    return tuple(
        (quantity(rating, "A"), name or _("fuse"), ", ".join(tags))
        for (name, rating), tags in sorted(found.items(), key=lambda pair: (pair[0][1], pair[0][0]))
    )


def _settings(frozen: Frozen) -> tuple[SettingRow, ...]:
    return tuple(
        row
        for part in frozen.body.get("fitted") or ()
        for row in setting_rows(
            part["name"], part.get("settings_asked") or {}, part.get("settings_entered") or {}, frozen.load_names
        )
    )
