"""Gas density and properties against CoolProp and GERG-2008 for one mixture, and how far apart they are."""

import pyaga8
from CoolProp import CoolProp
from timing import medians, row

from gaslab.physics import gas

PRESSURE, TEMPERATURE = 103_425.0, 288.15  # Pa absolute (21 mbar gauge), K
MIXTURE = {"methane": 0.93, "ethane": 0.04, "propane": 0.01, "nitrogen": 0.01, "carbon-dioxide": 0.01}
THEIR_NAMES = ("Methane", "Ethane", "Propane", "Nitrogen", "CarbonDioxide")


def coolprop() -> float:
    """Return the density [kg/m3] by CoolProp's mixture of Helmholtz equations."""
    state = CoolProp.AbstractState("HEOS", "&".join(THEIR_NAMES))
    state.set_mole_fractions(list(MIXTURE.values()))
    state.specify_phase(CoolProp.iphase_gas)
    state.update(CoolProp.PT_INPUTS, PRESSURE, TEMPERATURE)
    return state.rhomass()


def gerg() -> float:
    """Return the density [kg/m3] by GERG-2008."""
    mixture = pyaga8.Composition()
    for name, fraction in MIXTURE.items():
        setattr(mixture, name.replace("-", "_"), fraction)
    model = pyaga8.Gerg2008()
    model.set_composition(mixture)
    model.pressure, model.temperature = PRESSURE / 1000.0, TEMPERATURE
    model.calc_density(0)
    model.calc_properties()
    return model.d * model.mm


def main() -> None:
    ours = gas.density(MIXTURE, PRESSURE, TEMPERATURE)
    for name, theirs in (("CoolProp", coolprop), ("GERG-2008 (compiled)", gerg)):
        fast, slow = medians(lambda: gas.density(MIXTURE, PRESSURE, TEMPERATURE), theirs, repeats=50)
        row("density of a five-part natural gas", fast, slow, name)
        print(f"  densities differ by {abs(ours / theirs() - 1):.3%}")
    row("all properties after ISO 6976", medians(lambda: gas.properties(MIXTURE), repeats=50)[0])


if __name__ == "__main__":
    main()
