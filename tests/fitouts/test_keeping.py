"""What every service does with values on their way into a record."""

from __future__ import annotations

import pytest

from fitouts.models import Requirement, VehiclePosition
from fitouts.services import audit
from fitouts.services.keeping import keep
from tests.factories.jobs import make_fitout

pytestmark = pytest.mark.django_db


@pytest.mark.parametrize("mark", [chr(code) for code in (*range(0x202A, 0x202F), *range(0x2066, 0x206A))])
def test_no_name_turns_the_numbers_beside_it_round(mark):
    """Unicode Standard Annex 9, 2.1 to 2.4: embeddings, overrides, isolates and what ends them."""
    position = VehiclePosition(vehicle=make_fitout().vehicle)

    keep(position, {"name": f"{mark}Roof"}, None)

    position.refresh_from_db()
    assert position.name == "Roof"


@pytest.mark.parametrize("name", ["سقف", "Dach über der Küche", "屋根", "Roof\u200f"])
def test_letters_of_any_script_stay_as_typed(name):
    position = keep(VehiclePosition(vehicle=make_fitout().vehicle), {"name": name}, None)

    assert position.name == name


def test_a_line_of_an_audit_is_no_exception():
    line = audit.with_values(Requirement(), {"name": "\u202eFridge", "circuit": "Galley\u202e", "quantity": 2})

    assert (line.name, line.circuit, line.quantity) == ("Fridge", "Galley", 2)
