"""Packages for their list and their pages."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Any

from django.db.models import QuerySet
from django.utils.translation import gettext as _

from catalog.changes import Change, changes
from catalog.kinds.capabilities import CHEMISTRIES
from catalog.kinds.uses import WAYS
from catalog.specs import rating_text
from fitouts.models import Fitout, JobPackage, Requirement
from fitouts.services import packages
from fitouts.services.fitouts import COPIED_WISHES, LINE_FIELDS
from quoting import words
from quoting.models import PackagePrice
from quoting.queries import steering
from quoting.services import audit_day, briefs, package_price
from quoting.services.designs import INPUT_WORDS
from quoting.sizing.errors import SizingError
from quoting.wording.steering import STEERING_WORDS


def visible_to(user: Any) -> QuerySet[JobPackage]:
    """Everybody of the workshop reads packages; nobody else does."""
    if getattr(user, "is_authenticated", False) and user.is_active:
        return JobPackage.objects.select_related("kept_by", "price__made_by")
    return JobPackage.objects.none()


def for_list(user: Any) -> QuerySet[JobPackage]:
    """The version in force of each package, with its last price."""
    return visible_to(user).filter(replaced_at=None)


@dataclass(frozen=True, slots=True)
class LineRow:
    """A line of the audit that is kept: what it is and how it is used."""

    name: str
    quantity: int
    use: str
    position: str


@dataclass(frozen=True, slots=True)
class StopRow:
    site: str
    month: str
    days: float
    driving_h: float
    mains_h: float


@dataclass(frozen=True, slots=True)
class PriceView:
    """The last price of a package, as its page shows it."""

    row: PackagePrice
    money: Mapping[str, Decimal]
    is_stale: bool
    stands_on: str

    @property
    def hours(self) -> Decimal:
        return Decimal(self.row.result["hours"])

    @property
    def margin(self) -> Decimal:
        return self.money["net"] - self.money["cost"]


@dataclass(frozen=True, slots=True)
class PackageView:
    """Everything on the page of a package."""

    package: JobPackage
    lines: list[LineRow]
    stops: list[StopRow]
    places: list[tuple[str, str]]
    wishes: list[tuple[str, str]]
    assemblies: list[Any]
    day_wh: float | None
    versions: list[tuple[JobPackage, list[str]]]
    price: PriceView | None = None
    facts: Mapping[str, Any] = field(default_factory=dict)
    changes: list[Change] = field(default_factory=list)


def view_of(package: JobPackage, *, with_price: bool) -> PackageView:
    """Read a package into what its page shows; the price only for those who see money."""
    content = package.content
    lines = [Requirement(**{f: x[f] for f in LINE_FIELDS}) for x in content["lines"]]
    kept = getattr(package, "price", None) if with_price else None
    return PackageView(
        package=package,
        lines=[_line(line, x.get("position") or "") for line, x in zip(lines, content["lines"], strict=True)],
        stops=[_stop(x) for x in content["stops"]],
        places=_places(content),
        wishes=_wishes(content["wishes"]),
        assemblies=package_price.taken_by(package),
        day_wh=_day_wh(content, lines),
        versions=_versions(package),
        price=_price(package, kept) if kept else None,
        facts=kept.result if kept else {},
        changes=changes(("", package.history.all()), hidden=frozenset({"content"})),
    )


def _line(line: Requirement, position: str) -> LineRow:
    way = WAYS[line.way]
    return LineRow(line.name, line.quantity, f"{_(way.label)}: {rating_text(way, line.use)}", position)


def _stop(values: Mapping[str, Any]) -> StopRow:
    month = str(words.MONTHS[values["month"] - 1])
    return StopRow(values["site"], month, values["days"], values["driving_h_per_day"], values["mains_h_per_day"])


def _places(content: Mapping[str, Any]) -> list[tuple[str, str]]:
    places = content["places"] | content.get("trailer_places", {})
    return [(str(label()), places[role]) for role, label in briefs.ROLE_WORDS.items() if role in places]


def _wishes(wishes: Mapping[str, Any]) -> list[tuple[str, str]]:
    """Wishes in words, by the same labels as the job's page has."""
    fitout = Fitout(**{k: v for k, v in wishes.items() if k in COPIED_WISHES})
    names = steering.names_in(fitout)
    found = []
    for name in COPIED_WISHES:
        value = wishes.get(name)
        if value is None or value == []:
            continue
        label = (INPUT_WORDS | STEERING_WORDS)[name]()
        found.append((f"{label[:1].upper()}{label[1:]}", _said(name, value, names.get(name, {}))))
    return found


CHEMISTRY_WORDS: dict[str, str] = dict(CHEMISTRIES)
UNITS = {"system_v": "V", "autonomy_days": "d", "panel_tilt_deg": "°", "panel_azimuth_deg": "°", "most_lead_days": "d"}


def _said(name: str, value: Any, names: Mapping[int, str]) -> str:
    if isinstance(value, bool):
        return _("yes") if value else _("no")
    if name in ("pinned", "banned", "suppliers_wanted", "suppliers_banned"):
        return ", ".join(names.get(key, str(key)) for key in value)
    if isinstance(value, list):
        return ", ".join(_(CHEMISTRY_WORDS.get(str(x), str(x))) for x in value)
    if name.endswith("_ratio"):
        return words.number_words(100 * value, "%")
    return words.number_words(value, UNITS.get(name, ""))


def _day_wh(content: Mapping[str, Any], lines: list[Requirement]) -> float | None:
    """What the kept audit takes a day, at the stand-in climate; ``None`` where it cannot be added up."""
    if not lines:
        return None
    wishes = Fitout(**{k: v for k, v in content["wishes"].items() if k in COPIED_WISHES})
    for key, line in enumerate(lines, start=1):
        line.pk = key
    try:
        day = audit_day.add_up(wishes, lines, package_price.stops_of(content), None)
    except (SizingError, package_price.PackageNotPriced):
        return None
    return day.total_wh if day else None


def _versions(package: JobPackage) -> list[tuple[JobPackage, list[str]]]:
    """Every version of the name, the newest first, each with what differs from the one before."""
    rows = list(JobPackage.objects.filter(name=package.name).select_related("kept_by").order_by("-version"))
    return [
        (row, packages.differences(rows[i + 1].content, row.content) if i + 1 < len(rows) else [])
        for i, row in enumerate(rows)
    ]


def _price(package: JobPackage, kept: PackagePrice) -> PriceView:
    stands_on = {
        "kept": _("the survey of the vehicle that it was kept from"),
        "usual": _("the usual positions and runs of its body, not measured"),
    }
    return PriceView(
        row=kept,
        money={name: Decimal(text) for name, text in kept.result["money"].items()},
        is_stale=package_price.is_stale(package, kept),
        stands_on=stands_on[kept.result["stand_in"]],
    )
