"""Figures that questions quote in their words agree with the physics and with the source they come from."""

import re

import pytest

from gaslab import tables, units
from gaslab.physics import combustion, gas, metering
from gaslab.physics.flow import GRAVITY

TEXTS = {name: tables._text(f"families/{name}") for name in tables.files("families", ".toml")}


def families_that_quote(figure: str) -> list[str]:
    return [
        name for name, text in TEXTS.items() if re.search(rf"(?<![\d.]){re.escape(figure)}(?![\d])", text)
    ]


def co2_per_kilowatt_hour(basis: str) -> float:
    """Return the CO2 [m3] of the teaching mixture for a kWh, gross or net."""
    properties = gas.properties(gas.mixture("mix-a"))
    gross = combustion.products_per_energy(gas.mixture("mix-a"))[2] * 3.6e6
    return gross if basis == "gross" else gross * properties.cv_gross / properties.cv_net


@pytest.mark.parametrize(("basis", "outside"), [("gross", 0.0981), ("net", 0.1087)])
def test_carbon_dioxide_of_a_kilowatt_hour(basis, outside):
    """Computed outside this program for the teaching mixture: 0.0981 m3/kWh gross, 0.1087 net.

    Ours is 0.2 % higher, and here is why: the outside sum lets a real m3 of gas hold as many molecules as an ideal
    one. It holds 1/Z as many (Z 0.9977), and each makes its CO2. With Z put back, the two agree to the last digit.
    """
    ideal = co2_per_kilowatt_hour(basis) * gas.properties(gas.mixture("mix-a")).compression_factor
    assert ideal == pytest.approx(outside, abs=0.00005)
    assert co2_per_kilowatt_hour(basis) == pytest.approx(outside, rel=0.003)


def test_questions_quote_that_figure_to_three_places():
    quoting = families_that_quote("0.098")
    assert {"air-co2-time.toml", "air-flow-to-hold.toml"} <= set(quoting)
    assert round(co2_per_kilowatt_hour("gross"), 3) == 0.098
    assert not families_that_quote("0.109") and not families_that_quote(
        "0.1087"
    )  # no question mixes the bases
    for name in quoting:
        assert "gross" in TEXTS[name], name


@pytest.mark.parametrize(
    ("figure", "physics", "tolerance", "source"),
    [
        # EN 437 prints 50.72 for G20; ISO 6976 gives it from the composition.
        ("50.72", lambda: gas.properties(gas.mixture("g20")).wobbe_gross / 1e6, 0.005, "en-437"),
        # Printed on gas bills; worked from 21 mbar, 12.2 degC and about 67 m, which are from memory: 2 in 1.02264.
        ("1.02264", lambda: gas.volume_conversion_factor(2_100.0, 285.35, 67.4), 0.00005, "supplier-bill"),
        # The trade's ratio against methane's exact 1.1107.
        ("1.11", lambda: _ratio("g20"), 0.005, "practice"),
        ("1.11", lambda: _ratio("mix-a"), 0.005, "practice"),
        # A unit of 100 ft3 is 2.83 m3; a foot is 0.3048 m by definition.
        ("2.83", lambda: units.convert(100.0, "ft3", "m3"), 0.005, "supplier-bill"),
        ("0.0283168", lambda: metering.imperial_rate(1.0, 1.0, 1.0), 5e-8, "rating-guide"),
    ],
)
def test_a_figure_in_a_question_is_the_physics(figure, physics, tolerance, source):
    assert source in tables.sources()
    assert families_that_quote(figure), f"no question quotes {figure} any more"
    assert physics() == pytest.approx(float(figure), abs=tolerance)


def _ratio(key: str) -> float:
    properties = gas.properties(gas.mixture(key))
    return properties.cv_gross / properties.cv_net


def test_a_metre_of_height_is_eight_hundredths_more_than_a_tenth_of_a_millibar():
    """SI 1996/439, schedule: 0.1202 mbar a metre, quoted as 0.12. Air of 1.2255 kg/m3 weighs as much."""
    assert families_that_quote("0.12")
    assert units.from_si(tables.si("constants", "altitude", "pressure_fall"), "mbar/m") == pytest.approx(
        0.1202, abs=5e-5
    )
    assert gas.air_density(101_325.0, 288.15) * GRAVITY / 100.0 == pytest.approx(0.1202, abs=0.0001)
