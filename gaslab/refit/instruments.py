"""What a person reads: the true state seen through an instrument's steps, spread, zero and lag.

The spread of a reading depends on the job's number, the instrument and the moment, so a
screen and the log show the same figure, and a job that is run again reads the same.
"""

from __future__ import annotations

from dataclasses import asdict, dataclass

from gaslab import tables, units
from gaslab.physics import metering
from gaslab.refit.flowing import Flowing, passing_rings, pressure_at, wall_air
from gaslab.refit.plant import Plant, bench_number, spread
from gaslab.refit.plant import instrument_number as number
from gaslab.refit.state import State

GAUGES = {
    "water-gauge": "water gauge",
    "electronic-gauge": "electronic gauge",
    "fine-gauge": "fine electronic gauge",
}
MOMENTS_PER_SECOND = 2  # a figure flickers this often


class Unreadable(ValueError):
    """An instrument that cannot be read now, told in one sentence."""


@dataclass(frozen=True)
class Reading:
    """One reading as shown. `value` is SI (None where there is only something to see)."""

    instrument: str
    at: str
    time: float
    value: float | None
    unit: str
    resolution: float
    text: str

    def as_record(self) -> dict:
        """Return the reading as plain data."""
        return asdict(self)


def _seen(
    plant: Plant,
    state: State,
    instrument: str,
    true: float,
    unit: str,
    places: int,
    at: str = "",
    tag: str = "",
) -> Reading:
    """Return a true value as the instrument shows it: spread added, cut to its steps."""
    step = number(instrument, "resolution")
    moment = int(state.time * MOMENTS_PER_SECOND)
    off = number(instrument, "spread") * spread(plant.seed, instrument, at, tag, moment)
    value = round((true + off) / step) * step
    return Reading(instrument, at, state.time, value, unit, step, units.shown(value, unit, places))


def gauge(plant: Plant, flowing: Flowing, state: State, at: str = "") -> Reading:
    """Return what the joined gauge shows."""
    if not state.gauge:
        raise Unreadable("No gauge is joined. Connect one to a test point first.")
    places = {"water-gauge": 2, "electronic-gauge": 1, "fine-gauge": 2}[state.gauge]
    true = state.shown + plant.gauge_zero + state.zeroed_by
    return _seen(plant, state, state.gauge, true, "mbar", places, state.gauge_place)


def index(plant: Plant, flowing: Flowing, state: State, at: str = "") -> Reading:
    """Return what the meter's index shows: whole digits, never rounded up."""
    kind = plant.site.meter.type
    digit = tables.si("meters", kind, "digit")
    value = float(metering.index_reading.bare(state.metered, digit))
    if kind.startswith("u"):
        feet = units.from_si(value, "m3") / units.to_si(1.0, "ft3")
        text = f"{units.rounded(feet, 1):010.1f} {units.printed('ft3')}"
    else:
        text = f"{units.rounded(value, 3):09.3f} {units.printed('m3')}"
    return Reading("index", kind, state.time, value, "m3", digit, text)


def stopwatch(plant: Plant, flowing: Flowing, state: State, at: str = "") -> Reading:
    """Return the time from blow-out to the click of a ring, pressed by hand at both ends."""
    ring = _ring(state, at)
    if ring.out_at is None:
        raise Unreadable("The watch has not been started: no flame has been blown out on that ring.")
    if ring.shut_at is None or ring.shut_at < ring.out_at:
        raise Unreadable(f"Still hissing after {state.time - ring.out_at:.0f} s. Wait for the click.")
    elapsed = ring.shut_at - ring.out_at
    step = number("stopwatch", "resolution")
    presses = (spread(plant.seed, "watch", at, moment) for moment in (ring.shut_at, ring.out_at))
    late = number("stopwatch", "spread") * (next(presses) - next(presses))
    value = max(0.0, round((elapsed + late) / step) * step)
    return Reading("stopwatch", at, state.time, value, "s", step, units.shown(value, "s", 1))


def _ring(state: State, at: str):
    if at not in state.rings:
        raise Unreadable(f"Which ring? This hob has {', '.join(state.rings)}.")
    return state.rings[at]


def thermometer(plant: Plant, flowing: Flowing, state: State, at: str = "") -> Reading:
    """Return the temperature of the pipe wall."""
    wall = wall_air(plant, state).at(state.time)[0]
    off = number("thermometer", "spread") * spread(
        plant.seed, "thermometer", int(state.time * MOMENTS_PER_SECOND)
    )
    step = number("thermometer", "resolution")
    celsius = round((wall + off - units.ZERO_CELSIUS) / step) * step  # the steps count from 0 degrees
    value = units.to_si(celsius, "degC")
    return Reading(
        "thermometer", at, state.time, value, "degC", step, units.shown(celsius, "degC", 1, of_si=False)
    )


def millivolt_meter(plant: Plant, flowing: Flowing, state: State, at: str = "") -> Reading:
    """Return the voltage of a ring's thermocouple."""
    return _seen(plant, state, "millivolt-meter", _ring(state, at).emf, "mV", 1, at)


def tape(plant: Plant, flowing: Flowing, state: State, at: str = "") -> Reading:
    """Return a distance: hob to hood, or meter outlet to the bond clamp."""
    if at == "hood":
        above = plant.site.clearance("above")
        short = plant.size("hood-low")
        return _seen(plant, state, "tape", above.maker - short if short else above.measured, "mm", 0, at)
    if at == "bond":
        return _seen(
            plant,
            state,
            "tape",
            plant.size("bond-far", default=plant.site.electrical.bond_distance),
            "mm",
            0,
            at,
        )
    raise Unreadable("Measure what? The tape reaches the hood or the bond.")


def voltage_detector(plant: Plant, flowing: Flowing, state: State, at: str = "") -> Reading:
    """Return whether the no-contact detector lights up at the pipework."""
    moment = int(state.time * MOMENTS_PER_SECOND)
    threshold = number("voltage-detector", "threshold") + number("voltage-detector", "spread") * spread(
        plant.seed, "sweep", moment
    )
    lights = plant.size("live-casing") >= max(threshold, 1.0)
    text = "The detector lights up." if lights else "The detector stays dark."
    return Reading("voltage-detector", at, state.time, float(lights), "1", 1.0, text)


def gas_detector(plant: Plant, flowing: Flowing, state: State, at: str = "") -> Reading:
    """Return the gas in the kitchen as a part of the lower flammable limit."""
    return _seen(
        plant, state, "gas-detector", state.room_gas / bench_number("bench", "lower_limit"), "%", 0, at
    )


def smells(state: State) -> bool:
    """Return True when there is enough gas in the kitchen to be smelt."""
    return state.room_gas / bench_number("bench", "lower_limit") >= bench_number("bench", "smell")


def nose(plant: Plant, flowing: Flowing, state: State, at: str = "") -> Reading:
    """Return whether gas is smelt in the kitchen."""
    smelt = smells(state)
    text = "You smell gas." if smelt else "No smell of gas in the room."
    return Reading("nose", at, state.time, float(smelt), "1", 1.0, text)


def carbon_dioxide_meter(plant: Plant, flowing: Flowing, state: State, at: str = "") -> Reading:
    """Return the carbon dioxide in the kitchen."""
    return _seen(plant, state, "carbon-dioxide-meter", state.room_co2, "ppm", 0, at)


def leak_fluid(plant: Plant, flowing: Flowing, state: State, at: str = "") -> Reading:
    """Return whether leak fluid bubbles at a place: a run, an appliance, the hose, the control or the regulator."""
    cracks = {f"{run.id} pipe": plant.pipe_leaks.get(run.id, 0.0) for run in plant.site.runs}
    cracks |= {unit: plant.appliance_leaks.get(unit, 0.0) * is_open for unit, is_open in state.valves.items()}
    cracks |= {"control": 0.0, "regulator": 0.0, "hose": plant.hose_leak if state.gauge_joined else 0.0}
    if at not in cracks:
        raise Unreadable(f"Put leak fluid where? It can go on {', '.join(cracks)}.")
    pressure = pressure_at(plant, flowing, state)
    bubbles = cracks[at] * pressure >= bench_number("bench", "bubbles")
    return Reading(
        "leak-fluid", at, state.time, float(bubbles), "1", 1.0, "Bubbles grow." if bubbles else "No bubbles."
    )


def flame(plant: Plant, flowing: Flowing, state: State, at: str = "") -> Reading:
    """Return what a ring looks like."""
    ring = _ring(state, at)
    if ring.lit:
        text = f"A steady blue flame, turned {ring.tap}."
    else:
        text = "No flame, and gas is hissing." if _hisses(plant, flowing, state, at) else "No flame."
    return Reading("flame", at, state.time, float(ring.lit), "1", 1.0, text)


def _hisses(plant: Plant, flowing: Flowing, state: State, ring: str) -> bool:
    """Return True when so much gas comes out of a ring that it is heard."""
    hole = passing_rings(plant, state).get(ring, 0.0) * plant.rings[ring].orifice
    pressure = max(0.0, pressure_at(plant, flowing, state, plant.hob.id))
    return hole * pressure**0.5 >= bench_number("bench", "hiss")


def opening(plant: Plant, flowing: Flowing, state: State, at: str = "") -> Reading:
    """Return how much of the kitchen's window and air opening is open, judged by eye in twentieths."""
    true = plant.size("blocked-opening", default=1.0)
    value = round(min(1.0, max(0.0, true + 0.02 * spread(plant.seed, "opening"))) * 20) / 20
    return Reading(
        "opening", "kitchen", state.time, value, "1", 0.05, f"{value * 100:.0f} % of the opening is clear."
    )


def meter_card(plant: Plant, flowing: Flowing, state: State, at: str = "") -> Reading:
    """Return the hob's gas rate that the last person wrote on the meter card."""
    hob = plant.site.hob(plant.stage)
    rate = hob.plate_input() / plant.site.cv_gross * plant.size("meter-card", default=1.0)
    return Reading(
        "meter-card", hob.id, state.time, rate, "m3/h", 0.0, f"Hob gas rate {units.shown(rate, 'm3/h', 3)}"
    )


def gas_bill(plant: Plant, flowing: Flowing, state: State, at: str = "") -> Reading:
    """Return the calorific value printed on the customer's gas bill."""
    true = plant.site.cv_gross * (1.0 - plant.size("cv-off"))
    step = units.to_si(0.1, "MJ/m3")
    value = round(true / step) * step
    return Reading(
        "gas-bill", "", state.time, value, "MJ/m3", step, f"Calorific value {units.shown(value, 'MJ/m3', 1)}"
    )


INSTRUMENTS = {
    "gauge": gauge, "index": index, "stopwatch": stopwatch, "thermometer": thermometer,
    "millivolt meter": millivolt_meter, "tape": tape, "voltage detector": voltage_detector,
    "gas detector": gas_detector, "nose": nose, "carbon dioxide meter": carbon_dioxide_meter,
    "leak fluid": leak_fluid, "flame": flame, "opening": opening, "meter card": meter_card, "gas bill": gas_bill,
}  # fmt: skip


def read(instrument: str, plant: Plant, flowing: Flowing, state: State, at: str = "") -> Reading:
    """Return the reading of an instrument, or raise Unreadable with a sentence."""
    if not isinstance(instrument, str) or instrument not in INSTRUMENTS:
        raise Unreadable(
            f"There is no {str(instrument)[:40]!r} in the van. There is: {', '.join(INSTRUMENTS)}."
        )
    if not isinstance(at, str):
        raise Unreadable("The place must be a word, such as the name of a ring.")
    return INSTRUMENTS[instrument](plant, flowing, state, at)
