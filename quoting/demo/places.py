"""Who comes to Kestrel Flat Auto Electrical, and with what. Invented; numbers are from ranges kept for fiction."""

from __future__ import annotations

from typing import Any

WORKSHOP: dict[str, Any] = {
    "name": "Kestrel Flat Auto Electrical",
    "address": "8 Siding Street\nKestrel Flat",
    "phone": "(02) 5550 0142",
    "email": "bench@kestrelflat.example",
    "business_no": "00 000 000 417",
    "country": "AU",
    "currency": "AUD",
    "language": "en_AU",
    "time_zone": "Australia/Adelaide",
    "emergency_number": "000",
    "terms": (
        "The deposit books the bay. The rest is due on delivery. Parts stay ours until they are paid. Work beyond this "
        "quote is agreed before it is done and charged at the variation rate. Two years on our work; parts carry their "
        "makers' warranty."
    ),
    "exclusions": (
        "Repair of faults found in the vehicle's own wiring. Engineering approval of roof loads. "
        "Refitting of linings already broken."
    ),
    "is_demo": True,
}
TAX = ("GST", "0.10")

PEOPLE: tuple[dict[str, Any], ...] = (
    {"username": "odile", "role": "manager", "display_name": "Odile Farrant"},
    {"username": "mara", "role": "estimator", "display_name": "Mara Quill"},
    {"username": "joss", "role": "technician", "display_name": "Joss Rook"},
    {"username": "tove", "role": "technician", "display_name": "Tove Aldren", "licence_no": "KF 20417"},
)
"""The first is the manager who opens the workshop; the last holds the electrical licence."""

INSTRUMENTS: tuple[dict[str, Any], ...] = (
    {"name": "Clamp meter, AC and DC", "serial": "2207-118"},
    {"name": "Multimeter, 4½ digits", "serial": "61 044"},
    {"name": "Installation tester", "serial": "IT-0093"},
    {"name": "Irradiance meter", "serial": "7731"},
)

CUSTOMERS: dict[str, dict[str, Any]] = {
    "venn": {
        "kind": "organisation",
        "name": "Venn Field Geology",
        "address": "12 Cutbank Road\nKestrel Flat",
        "phone": "0491 570 156",
        "email": "ines@vennfield.example",
        "contacts": [{"name": "Dr Ines Venn", "job_title": "geologist", "phone": "0491 570 156"}],
    },
    "suds": {
        "kind": "organisation",
        "name": "Wet Noses Mobile Dog Wash",
        "address": "3 Tannery Lane\nKestrel Flat",
        "phone": "0491 570 157",
        "email": "hello@wetnoses.example",
        "contacts": [{"name": "Bram Oakes", "job_title": "owner", "phone": "0491 570 157"}],
    },
    "pell": {
        "kind": "person",
        "name": "Asha and Tom Pell",
        "address": "41 Weir Crescent\nKestrel Flat",
        "phone": "0491 570 158",
        "email": "pell@household.example",
        "contacts": [],
    },
    "crema": {
        "kind": "organisation",
        "name": "Long Shadow Coffee",
        "address": "Stall 6, Showground\nKestrel Flat",
        "phone": "0491 570 159",
        "email": "brew@longshadow.example",
        "contacts": [{"name": "Petra Holm", "job_title": "owner", "phone": "0491 570 159"}],
    },
    "ardle": {
        "kind": "organisation",
        "name": "Ardle Shire, tree survey",
        "address": "Shire Depot, Ringbark Road\nArdle",
        "phone": "(02) 5550 0173",
        "email": "fleet@ardleshire.example",
        "contacts": [{"name": "Lew Marchetti", "job_title": "fleet officer", "phone": "(02) 5550 0174"}],
    },
}

VEHICLES: dict[str, dict[str, Any]] = {
    "wagon": {
        "customer": "venn",
        "set": "wagon",
        "make": "Halvard",
        "model": "Tor 3.0",
        "body": "wagon",
        "year": 2023,
        "registration": "KFX 417",
        "odometer_km": 84210,
        "nominal_v": 12,
        "alternator_a": 150,
        "alternator_control": "smart",
        "starter_ah": 80,
        "starter_ohm": 0.005,
        "roof_length_m": 2.4,
        "roof_width_m": 1.4,
        "payload_left_kg": 310,
        "hot_idle_v": 13.2,
        "hot_idle_a": 62,
        "own_draw_a": 28,
        "standing_draw_a": 0.031,
        "cranking_v": 10.4,
    },
    "van": {
        "customer": "suds",
        "set": "van",
        "make": "Brenner",
        "model": "Packhorse L2",
        "body": "van",
        "year": 2021,
        "registration": "WET 055",
        "odometer_km": 61240,
        "nominal_v": 12,
        "alternator_a": 180,
        "alternator_control": "smart",
        "starter_ah": 95,
        "starter_ohm": 0.0045,
        "roof_length_m": 3.2,
        "roof_width_m": 1.6,
        "payload_left_kg": 540,
        "hot_idle_v": 13.4,
        "hot_idle_a": 80,
        "own_draw_a": 32,
        "standing_draw_a": 0.026,
        "cranking_v": 10.1,
        "idle_stop": True,
    },
    "family": {
        "customer": "pell",
        "set": "wagon",
        "make": "Ostler",
        "model": "Farrow",
        "body": "wagon",
        "year": 2019,
        "registration": "TRY 902",
        "odometer_km": 118400,
        "nominal_v": 12,
        "alternator_a": 130,
        "alternator_control": "fixed",
        "starter_ah": 72,
        "starter_ohm": 0.0055,
        "roof_length_m": 2.2,
        "roof_width_m": 1.3,
        "payload_left_kg": 205,
    },
    "trailer": {
        "customer": "crema",
        "set": "van",
        "make": "Brenner",
        "model": "Counter 3",
        "body": "van",
        "year": 2022,
        "registration": "BRU 311",
        "odometer_km": 28900,
        "nominal_v": 12,
        "alternator_a": 160,
        "alternator_control": "smart",
        "starter_ah": 90,
        "starter_ohm": 0.0045,
        "roof_length_m": 3.0,
        "roof_width_m": 1.7,
        "payload_left_kg": 420,
        "hot_idle_v": 13.3,
        "hot_idle_a": 72,
        "own_draw_a": 30,
        "standing_draw_a": 0.022,
        "cranking_v": 10.2,
    },
    **{
        f"truck{number}": {
            "customer": "ardle",
            "set": "truck",
            "make": "Gantry",
            "model": "T6",
            "body": "truck",
            "year": 2020,
            "registration": f"ASC {100 + number}",
            "odometer_km": 90000 + 1130 * number,
            "nominal_v": 24,
            "alternator_a": 110,
            "alternator_control": "fixed",
            "starter_ah": 150,
            "starter_ohm": 0.006,
            "roof_length_m": 2.6,
            "roof_width_m": 1.9,
            "payload_left_kg": 900,
            "hot_idle_v": 27.0,
            "hot_idle_a": 48,
            "own_draw_a": 18,
            "standing_draw_a": 0.04,
            "cranking_v": 21.0,
        }
        for number in range(1, 25)
    },
}
