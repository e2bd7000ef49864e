"""Assemblies that a job takes: in, how many, out, and the newest version of them."""

from __future__ import annotations

from django.db import transaction
from django.utils.translation import gettext as _

from catalog.models import Assembly
from fitouts.models import COURSE, Fitout, FitoutAssembly, Stage, User
from fitouts.services.keeping import signed

MOST_USES = 40
MOST_OF_ONE = 500


class AssemblyRefused(Exception):
    """The job cannot take it, or not so many; the text says why."""


def is_locked(fitout: Fitout) -> bool:
    """From acceptance on, what a job takes is what was accepted."""
    here = fitout.held_from or fitout.stage
    return here in COURSE and COURSE.index(Stage(here)) >= COURSE.index(Stage.ACCEPTED)


@transaction.atomic
def add(fitout: Fitout, assembly: Assembly, quantity: int, *, by: User | None) -> FitoutAssembly:
    """Take an assembly into a job at its newest version. Raises AssemblyRefused."""
    _hold(fitout)
    if assembly.retired_at is not None:
        raise AssemblyRefused(_("“%(name)s” is retired. Choose another assembly.") % {"name": assembly})
    _check(quantity)
    taken = list(fitout.assemblies.values_list("version__assembly_id", flat=True))
    if assembly.pk in taken:
        raise AssemblyRefused(_("“%(name)s” is in this job already; change how many there.") % {"name": assembly})
    if len(taken) >= MOST_USES:
        raise AssemblyRefused(_("A job takes at most %(most)d assemblies.") % {"most": MOST_USES})
    version = assembly.versions.first()
    if version is None:
        raise AssemblyRefused(_("“%(name)s” has no lines yet.") % {"name": assembly})
    use = FitoutAssembly(fitout=fitout, version=version, quantity=quantity)
    signed(use, by).save()
    return use


@transaction.atomic
def change(use: FitoutAssembly, quantity: int, *, by: User | None) -> None:
    """Say how many of it the job takes."""
    _hold(use.fitout)
    _check(quantity)
    if use.quantity != quantity:
        use.quantity = quantity
        signed(use, by).save(update_fields=["quantity"])


@transaction.atomic
def take_newest(use: FitoutAssembly, *, by: User | None) -> None:
    """Take the newest version of the same assembly."""
    _hold(use.fitout)
    newest = use.version.assembly.versions.first()
    if newest is not None and newest.pk != use.version_id:
        use.version = newest
        signed(use, by).save(update_fields=["version"])


@transaction.atomic
def remove(use: FitoutAssembly, *, by: User | None) -> None:
    """Take it out of the job; its history stays."""
    _hold(use.fitout)
    signed(use, by).delete()


def _hold(fitout: Fitout) -> None:
    if is_locked(Fitout.objects.select_for_update().get(pk=fitout.pk)):
        raise AssemblyRefused(_("The quote of this job is accepted; its assemblies stay as they were accepted."))


def _check(quantity: int) -> None:
    if not 1 <= quantity <= MOST_OF_ONE:
        words = _("How many is %(n)d; it must be at least 1 and at most %(most)d.")
        raise AssemblyRefused(words % {"n": quantity, "most": MOST_OF_ONE})
