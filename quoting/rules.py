"""Who may do what with a job. Everybody of the workshop reads jobs; money is for those who see it."""

from __future__ import annotations

from typing import Any

from fitouts.models import Fitout, Stage, User
from fitouts.services.fitouts import OWN_SERVICE, can_go

BUILD_STAGES = (Stage.BOOKED, Stage.IN_BUILD, Stage.TESTED)


def _works_here(user: Any) -> bool:
    return bool(getattr(user, "is_authenticated", False) and user.is_active)


def can_open_job(user: Any) -> bool:
    """Take an enquiry and open a job for it."""
    return _works_here(user) and user.role in (User.Role.ESTIMATOR, User.Role.MANAGER)


def can_edit_audit(user: Any) -> bool:
    """Change audit, trip, wishes and details of a job, and work it out."""
    return can_open_job(user)


def can_edit_places(user: Any) -> bool:
    """Say what sits where: the technician who surveys knows."""
    return _works_here(user)


def can_see_money(user: Any) -> bool:
    return _works_here(user) and bool(user.sees_money)


def moves_for(user: Any, fitout: Fitout) -> tuple[str, ...]:
    """Stages this person may move the job to with a button; issuing, accepting and delivering have their own."""
    if not _works_here(user):
        return ()
    ways = tuple(
        s
        for s in can_go(fitout)
        if s not in OWN_SERVICE or fitout.stage in (Stage.ON_HOLD, Stage.CANCELLED, Stage.LOST)
    )
    if user.role == User.Role.TECHNICIAN:
        return tuple(s for s in ways if s in (Stage.SURVEYED, Stage.IN_BUILD, Stage.TESTED) and fitout.stage != s)
    return ways
