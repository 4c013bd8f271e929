"""The parts of a home with gas: meter, pipe runs, appliances, rooms, worktop and the rest.

Every part is frozen. Numbers are SI floats; each field says its unit and range.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace

from gaslab import tables
from gaslab.guard import PRESSURE_GAUGE, between, positive, zero_or_more
from gaslab.physics import worktop
from gaslab.refit.fields import SiteError, choice, counts, label, many, number, words, yes_no

DIRECTIONS = {
    "east": (1, 0, 0), "west": (-1, 0, 0), "north": (0, 1, 0), "south": (0, -1, 0),
    "up": (0, 0, 1), "down": (0, 0, -1),
}  # fmt: skip
LONGEST_RUN = 60.0  # m: a longer run is outside a small home's installation


@dataclass(frozen=True)
class Meter:
    """The gas meter and its regulator.

    `lock_up` is the pressure at no flow; `droop` is lost at full capacity.
    """

    type: str = choice(table="meters")
    node: str = label()
    place: str = words()
    pressure_setting: float = number(between("Pa", 500.0, 7_500.0, "regulator setting; 2100 Pa is 21 mbar"))
    droop: float = number(zero_or_more("Pa", 1_000.0, "fall of regulator pressure at full capacity"))
    lock_up: float = number(between("Pa", 500.0, 7_500.0, "pressure with no gas flowing"))
    index_start: float = number(zero_or_more("m3", 99_999.0, "volume on the meter's index at the start"))

    def volume(self) -> float:
        """Return the volume [m3] that the meter adds to the installation."""
        return tables.si("meters", self.type, "volume")

    def capacity(self) -> float:
        """Return the badged capacity [m3/s]."""
        return tables.si("meters", self.type, "capacity")


@dataclass(frozen=True)
class Leg:
    """One straight piece of a run."""

    direction: str = choice(*DIRECTIONS)
    length: float = number(positive("m", LONGEST_RUN, "length of one straight leg"))


@dataclass(frozen=True)
class Run:
    """A pipe run from one node to the next, in one size of pipe. Its length and rise come from its legs."""

    id: str = label()
    title: str = words()
    start: str = label()
    end: str = label()
    pipe: str = choice(table="pipes")
    state: str = choice("existing", "new")
    fittings: Mapping[str, int] = counts(40, "elbow", "bend", "bend_45", "tee")
    legs: tuple[Leg, ...] = many(Leg)
    clips: float = number(between("1", 0.0, 100.0, "number of clips fitted"))

    @property
    def length(self) -> float:
        """Length along the pipe [m], fittings not counted."""
        return math.fsum(leg.length for leg in self.legs)

    @property
    def rise(self) -> float:
        """Height of the end above the start [m]."""
        return math.fsum(DIRECTIONS[leg.direction][2] * leg.length for leg in self.legs)

    def bore(self) -> float:
        """Return the inside diameter [m]."""
        outside, wall = (tables.si("pipes", self.pipe, quantity) for quantity in ("outside_diameter", "wall"))
        return outside - 2.0 * wall

    def roughness(self) -> float:
        """Return the roughness of the pipe wall [m]."""
        return tables.si("pipes", self.pipe, "roughness")

    def with_length(self, path: str, value: float) -> Run:
        """Return the run with another length: level legs stretch, upright legs keep their height."""
        upright = math.fsum(leg.length for leg in self.legs if DIRECTIONS[leg.direction][2])
        level = self.length - upright
        if level == 0.0:
            level, upright = self.length, 0.0
        need = (
            f"a number above {upright:g} and at most {LONGEST_RUN:g} m (its upright legs take {upright:g} m)"
        )
        plain = isinstance(value, (int, float)) and not isinstance(value, bool)
        if not plain or not upright < value <= LONGEST_RUN:
            raise SiteError(path, value, need)
        stretch = (value - upright) / level
        keep = (lambda leg: False) if upright == 0.0 else (lambda leg: DIRECTIONS[leg.direction][2])
        legs = tuple(leg if keep(leg) else replace(leg, length=leg.length * stretch) for leg in self.legs)
        return replace(self, legs=legs)


@dataclass(frozen=True)
class Burner:
    """One burner of a hob, with its flame supervision."""

    id: str = label()
    title: str = words()
    kind: str = choice("auxiliary", "semi-rapid", "rapid", "triple")
    heat_input_gross: float = number(positive("W", 10_000.0, "heat input of the burner, gross"))
    injector_diameter: float = number(between("m", 0.0003, 0.004, "injector hole; marking 128 is 1.28 mm"))
    low_fraction: float = number(between("1", 0.05, 0.9, "lowest setting as a part of full heat"))
    emf_hot: float = number(positive("V", 0.1, "voltage of the hot thermocouple"))
    emf_hold: float = number(positive("V", 0.1, "voltage that holds the valve when the knob is let go"))
    emf_release: float = number(positive("V", 0.1, "voltage at which the valve lets go"))
    time_constant: float = number(positive("s", 120.0, "time constant of the thermocouple"))


@dataclass(frozen=True)
class Mode:
    """One way an appliance other than a hob runs, with its heat input on the plate's basis."""

    id: str = label()
    heat_input: float = number(positive("W", 100_000.0, "heat input on the data plate, on its stated basis"))


@dataclass(frozen=True)
class Appliance:
    """A gas appliance and its data plate. A hob has burners; another appliance has modes."""

    id: str = label()
    title: str = words()
    kind: str = choice("hob", "boiler", "fire")
    stage: str = choice("before", "after", "always")
    node: str = label()
    room: str = label()
    flue: str = choice("none", "open", "room-sealed")
    connection: str = choice("rigid pipe", "hose")
    basis: str = choice("gross", "net")
    category: str = words()
    gas: str = words()
    pressure_nominal: float = number(PRESSURE_GAUGE)
    pressure_minimum: float = number(PRESSURE_GAUGE)
    pressure_maximum: float = number(PRESSURE_GAUGE)
    burners: tuple[Burner, ...] = many(Burner)
    modes: tuple[Mode, ...] = many(Mode)

    def plate_input(self, mode: str = "") -> float:
        """Return the heat input on the data plate [W], on the plate's own basis.

        A hob's is the sum of its burners; another appliance's is that of `mode`, or its largest.
        """
        if self.burners:
            return math.fsum(burner.heat_input_gross for burner in self.burners)
        inputs = {m.id: m.heat_input for m in self.modes}
        if mode and mode not in inputs:
            raise SiteError(f"appliances.{self.id}.modes", mode, f"one of {', '.join(inputs)}")
        return inputs[mode] if mode else max(inputs.values())


@dataclass(frozen=True)
class Room:
    """A room. `x`, `y` place its south-west corner on the floor plan; `length` runs east, `width` north."""

    id: str = label()
    title: str = words()
    x: float = number(between("m", -50.0, 50.0, "corner of the room, east of the meter"))
    y: float = number(between("m", -50.0, 50.0, "corner of the room, north of the meter"))
    length: float = number(between("m", 0.3, 20.0, "room length"))
    width: float = number(between("m", 0.3, 20.0, "room width"))
    height: float = number(between("m", 1.0, 6.0, "floor to ceiling"))
    free_area: float = number(zero_or_more("m2", 0.5, "free area of permanent openings; 100 cm2 is 0.01 m2"))
    openable_window: bool = yes_no()
    door_outside: bool = yes_no()
    bedsit: bool = yes_no()
    air_changes: float = number(zero_or_more("1/s", 0.03, "air changes; 1 an hour is 0.000278 a second"))
    extract: float = number(
        zero_or_more("m3/s", 0.5, "air taken out by the hood or fan; 30 l/s is 0.03 m3/s")
    )

    @property
    def volume(self) -> float:
        """Volume [m3]."""
        return self.length * self.width * self.height


_EDGE = between("m", -1.0, 10.0, "a length at the worktop")


@dataclass(frozen=True)
class Worktop:
    """The worktop and the hole for the hob. Offsets run from the left end and from the front edge."""

    material: str = words()
    length: float = number(positive("m", 10.0, "worktop length"))
    depth: float = number(positive("m", 2.0, "worktop depth"))
    thickness: float = number(positive("m", 0.2, "worktop thickness"))
    hob_length: float = number(positive("m", 2.0, "hob, left to right"))
    hob_depth: float = number(positive("m", 2.0, "hob, front to back"))
    cut_out_length: float = number(positive("m", 2.0, "cut-out, left to right"))
    cut_out_depth: float = number(positive("m", 2.0, "cut-out, front to back"))
    offset_left: float = number(_EDGE)
    offset_front: float = number(_EDGE)
    margin_side_maker: float = number(
        positive("m", 1.0, "least worktop left at the sides, the maker's figure")
    )
    margin_front_maker: float = number(
        positive("m", 1.0, "least worktop left at the front, the maker's figure")
    )
    margin_back_maker: float = number(
        positive("m", 1.0, "least worktop left at the back, the maker's figure")
    )
    price: float = number(zero_or_more("1", 10_000.0, "price of a new worktop, pounds"))
    fitting_hours: float = number(zero_or_more("s", 200_000.0, "time to fit a new worktop"))
    labour_price: float = number(zero_or_more("1", 500.0, "price of an hour's work, pounds"))

    def margins(self) -> Mapping[str, float]:
        """Return the worktop left on each side of the cut-out [m]."""
        return worktop.cut_out_margins(
            self.length,
            self.depth,
            self.cut_out_length,
            self.cut_out_depth,
            self.offset_left,
            self.offset_front,
        )

    def miscut_cost(self) -> float:
        """Return what one wrong cut costs [pounds]: a new worktop and the hours to fit it."""
        return self.price + self.labour_price * self.fitting_hours / 3600.0


@dataclass(frozen=True)
class Oven:
    """The electric oven under the hob, and the pipe behind it."""

    void_depth: float = number(positive("m", 1.5, "front of the housing to the wall behind"))
    old_depth: float = number(positive("m", 1.5, "depth of the old oven behind its front"))
    new_depth: float = number(positive("m", 1.5, "depth of the new oven behind its front"))
    pipe_projection: float = number(
        zero_or_more("m", 0.5, "how far pipe and fittings stand out from the wall")
    )
    gap_maker: float = number(zero_or_more("m", 0.5, "least free gap behind the oven, the maker's figure"))
    rise_offset: float = number(between("m", 0.0, 3.0, "sideways from the oven housing to the new rise"))
    rise_maker: float = number(
        zero_or_more("m", 3.0, "least distance sideways to the new rise, the maker's figure")
    )
    electric_load: float = number(positive("W", 20_000.0, "electric load of the oven"))
    isolator: str = words()


@dataclass(frozen=True)
class Clearance:
    """A distance that must stay clear, as measured, and the maker's figure for it."""

    id: str = label()
    title: str = words()
    measured: float = number(zero_or_more("m", 5.0, "distance as measured"))
    maker: float = number(zero_or_more("m", 5.0, "least distance, the maker's figure"))


@dataclass(frozen=True)
class Tool:
    """A tool that cuts the worktop, as its maker and the site give it."""

    id: str = label()
    title: str = words()
    noise: float = number(between("1", 40.0, 140.0, "noise at the ear, dB(A)"))
    vibration: float = number(zero_or_more("m/s2", 50.0, "vibration at the hand"))
    dust: float = number(zero_or_more("kg/m3", 0.001, "dust in the air while cutting; 1 mg/m3 is 0.000001"))
    duration: float = number(positive("s", 28_800.0, "time in use in the day"))


@dataclass(frozen=True)
class Electrical:
    """Distances to electrical things, and the main bond."""

    consumer_unit_distance: float = number(zero_or_more("m", 20.0, "pipe to the consumer unit"))
    electricity_meter_distance: float = number(zero_or_more("m", 20.0, "pipe to the electricity meter"))
    socket_distance: float = number(zero_or_more("m", 20.0, "pipe to the nearest socket, switch or control"))
    cable_distance: float = number(zero_or_more("m", 20.0, "pipe to the nearest cable"))
    bond_distance: float = number(zero_or_more("m", 20.0, "meter outlet to the main bond clamp"))
    bond_size: float = number(
        zero_or_more("m2", 0.0002, "copper section of the main bond; 10 mm2 is 0.00001")
    )
