"""From Brief, needs and market to an integer programme: every way to fill each role, and the rows that join them.

:func:`everything` makes all options that the catalogue has, whatever is wished of them; :func:`steered` takes out what
bans, pins, kept parts, suppliers and lead times rule out, and sets limits. So a wish can be tried without by steering
anew, with the same options under the same keys.
"""

from __future__ import annotations

from quoting.sizing.brief import Brief
from quoting.sizing.needs import Needs
from quoting.sizing.parts import Catalogue
from quoting.sizing.selecting.options_array import arrays_of
from quoting.sizing.selecting.options_ask import Ask, Use
from quoting.sizing.selecting.options_bank import banks_of
from quoting.sizing.selecting.options_charging import chargers_of, wanted_sources
from quoting.sizing.selecting.options_control import (
    converters_of,
    monitor_rows,
    monitors_of,
    sensing_of,
    switching_of,
    with_outputs,
)
from quoting.sizing.selecting.options_joint import charge_rows, profile_rows, solar_rows
from quoting.sizing.selecting.options_mains import inverters_of, is_inlet_wanted, mains_options, residual_count
from quoting.sizing.selecting.problem import Option, Problem
from quoting.sizing.selecting.records import Market, Steer
from quoting.sizing.selecting.steering import NOTHING, Everything, Rest, steered

__all__ = ["Everything", "Rest", "Use", "everything", "problem_of", "steered"]


def problem_of(
    brief: Brief, needs: Needs, market: Market, steer: Steer, rest: Rest = NOTHING, use: Use | None = None
) -> Problem:
    """The integer programme of choosing components.

    Parameters
    ----------
    brief : Brief
        With catalogue, wishes, kept parts, policy and room; its picks are not looked at.
    needs : Needs
        What loads and trip ask, the room of the offer already in it.
    market : Market
        Prices, stock and lead times of today.
    steer : Steer
        What a person wishes of the choice itself.
    rest : Rest
        Price and mass that the bill has beside the parts that are chosen here.
    use : Use, optional
        How the battery is used; without it every battery counts for as many years as policy allows.

    Returns
    -------
    Problem
        Groups that are wanted, options by their keys, rows. It does not depend on the order of the catalogue.
    """
    return steered(everything(brief, needs, market, use), brief, market, steer, rest)


def everything(brief: Brief, needs: Needs, market: Market, use: Use | None = None, short: bool = True) -> Everything:
    """Every option of the catalogue, bans and pins left out of account.

    Parameters
    ----------
    brief, needs, market, use : Brief, Needs, Market, Use
        As for :func:`problem_of`.
    short : bool
        Banks and arrays too that by themselves are smaller than what is asked. No answer takes one; where there is
        none, they say what would have to give.
    """
    ask = Ask(brief, Catalogue.of(brief).free(), needs, market, use, short)
    banks, rows = banks_of(ask)
    chargers, more = chargers_of(ask)
    rows += more
    arrays, more = arrays_of(ask, chargers)
    rows += more
    inverters, more = inverters_of(ask)
    rows += more
    converters, shares = converters_of(ask)
    monitors = monitors_of(ask)
    splits = list(dict.fromkeys(shares[c.key] for c in converters)) or [()]
    modules, more, switched = switching_of(ask, splits)
    rows += more
    if len(splits) > 1:
        for option in converters:
            _set(option, f"split:{splits.index(shares[option.key])}", 1.0)
    rows += profile_rows(ask, banks, chargers)
    rows += charge_rows(ask, banks, chargers, arrays)
    rows += solar_rows(ask, chargers, arrays)
    rows += monitor_rows(ask, banks, inverters)
    mains, more = mains_options(ask, chargers, inverters)
    rows += more
    made = [*(b.option for b in banks), *(c.option for c in chargers), *(a.option for a in arrays)]
    made += [*(i.option for i in inverters), *converters, *monitors]
    doubled = with_outputs(ask, modules, made)
    made += [*modules, *mains, *(option for option, _ in doubled)]
    readers, more, watched = sensing_of(ask, made)
    rows += more
    groups = _groups(ask, switched, watched)
    options = sorted([*made, *readers], key=lambda option: option.key)
    held = {c.option.key for c in chargers if c.held}
    held |= {option.key for option, other in doubled if other.key in held}
    return Everything(groups, tuple(options), tuple(rows), frozenset(held))


def _groups(ask: Ask, switched: bool, watched: bool) -> tuple[str, ...]:
    sources = wanted_sources(ask)
    wanted = {
        "battery": True,
        **{source: source in sources for source in ("engine", "mains", "solar")},
        "array": "solar" in sources,
        "inverter": ask.needs.inverter is not None,
        "converter": ask.needs.converter is not None,
        "monitor": True,
        "switching": switched,
        "inlet": is_inlet_wanted(ask),
        "residual": residual_count(ask) > 0,
        "sensing": watched,
    }
    return tuple(group for group, is_wanted in wanted.items() if is_wanted)


def _set(option: Option, row: str, value: float) -> None:
    gives = option.gives
    assert isinstance(gives, dict)
    gives[row] = value
