"""What to heed on site, printed wherever a visit is planned or described.

Our own words after the sources named beside each; local code, the makers' manuals and licensed
practice decide.
"""

from __future__ import annotations

from dataclasses import dataclass

# Caswell Beach NC: a test usually needs the water off for 5 to 20 minutes.
PERMISSION = (
    "Ask the owner before water is shut, and say for how long: a test usually needs it off "
    "5 to 20 minutes."
)
# Common practice on fire lines; NFPA 25 ch. 15 on impairments, read in secondary sources.
FIRE_LINE = (
    "Fire line: tell the fire department, the alarm company and the insurer before and after; "
    "flow and tamper switches signal. Leave valves fully open. A fire licence is often required, "
    "and a long impairment may need a fire watch."
)
# ASSE 5000: arrange shutdowns of continuous-service buildings ahead.
MEDICAL_SUPPLY = (
    "Continuous medical supply: arrange the shutdown ahead with the people there, and shut "
    "nothing without their consent."
)
# 29 CFR 1910.146, permit-required confined spaces.
VAULT = (
    "Vault or pit: it may be a permit space (29 CFR 1910.146). Test the air (oxygen 19.5 to "
    "23.5 %, then combustible, then toxic) and go in only with an attendant outside."
)
# Common practice.
PRESSURE = "Hot water and trapped pressure scald and strike: relieve slowly, work valves slowly."
TENANTS = "Tenants: tell them before their water goes off."
GOVERNED_BY = "Makers' manuals, local code and licensed practice govern."


@dataclass(frozen=True, slots=True)
class SiteTraits:
    """What of a premises and its assemblies calls for a caution."""

    has_fire_line: bool = False
    has_medical_supply: bool = False
    has_vault: bool = False
    has_tenants: bool = False


def cautions_for(traits: SiteTraits) -> tuple[str, ...]:
    """The cautions of a site: the particular ones first, those for every site after."""
    particular = [
        (traits.has_medical_supply, MEDICAL_SUPPLY),
        (traits.has_fire_line, FIRE_LINE),
        (traits.has_vault, VAULT),
        (traits.has_tenants, TENANTS),
    ]
    told = [words for holds, words in particular if holds]
    return (*told, PERMISSION, PRESSURE, GOVERNED_BY)


def speaks_of_vault(location: str) -> bool:
    """True when a recorded place in words names a vault, a pit or a manhole."""
    words = location.lower().replace("-", " ").replace(",", " ").split()
    return any(word in {"vault", "vaults", "pit", "pits", "manhole"} for word in words)
