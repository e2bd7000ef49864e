"""Who may do what with a job. Everybody of the workshop reads jobs; money is for those who see it."""

from __future__ import annotations

from typing import Any

from fitouts.models import COURSE, Fitout, Stage, User
from fitouts.services.fitouts import ASIDE, OWN_SERVICE, can_go


def _works_here(user: Any) -> bool:
    return bool(getattr(user, "is_authenticated", False) and user.is_active)


def can_open_job(user: Any) -> bool:
    """Take an enquiry and open a job for it."""
    return _works_here(user) and user.role in (User.Role.ESTIMATOR, User.Role.MANAGER)


def can_edit_audit(user: Any) -> bool:
    """Change audit, trip, wishes and details of a job, and work it out."""
    return can_open_job(user)


def can_change_circuits(user: Any) -> bool:
    """Settle a circuit by hand: a choice of engineering. Technicians see what was settled, and why."""
    return can_open_job(user)


def can_lay_out(user: Any) -> bool:
    """Lay circuits on switched outputs, and say what is watched. Technicians look."""
    return can_open_job(user)


def can_choose_parts(user: Any) -> bool:
    """Ask for the three offers, steer them, take one: they are about money."""
    return can_open_job(user) and can_see_money(user)


def can_edit_places(user: Any) -> bool:
    """Say what sits where: the technician who surveys knows."""
    return _works_here(user)


def can_see_money(user: Any) -> bool:
    return _works_here(user) and bool(user.sees_money)


def can_take_out(user: Any) -> bool:
    """Take tables out: everybody, each with what they may see."""
    return _works_here(user)


def can_bring_in(user: Any) -> bool:
    """Bring tables in, and go on with one that somebody else brought in: it is one workshop."""
    return can_open_job(user)


def moves_for(user: Any, fitout: Fitout) -> tuple[str, ...]:
    """Stages this person may move the job to with a button; what a service of its own does is left out."""
    if not _works_here(user):
        return ()
    ways = tuple(s for s in can_go(fitout) if fitout.stage in ASIDE or not _has_own_service(fitout.stage, s))
    if user.role == User.Role.TECHNICIAN:
        return tuple(s for s in ways if fitout.stage not in ASIDE and s in (Stage.SURVEYED, Stage.IN_BUILD))
    return ways


def _has_own_service(here: str, there: str) -> bool:
    if there not in OWN_SERVICE:
        return False
    return COURSE.index(Stage(there)) > COURSE.index(Stage(here))
