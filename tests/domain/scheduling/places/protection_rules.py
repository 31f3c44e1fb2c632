"""What premises owe by rules in print: surveys, and protection of each service."""

from __future__ import annotations

from tests.domain.scheduling.places.atlas import TEST_KIND, YEARLY, rules, text_with

KINDS = """[[kind]]
name = "survey"
met_by = ["survey"]
subject = "premises"

[[kind]]
name = "protection"
met_by = ["protection"]
subject = "service connection"
"""
ILLINOIS = """[[cycle]]
id = "surveyed again"
kind = "survey"
regime = "rolling"
every = "FREQ=YEARLY;INTERVAL=2"
opens_days = 60
citation = "35 IAC 604.1510: survey of customers every 2 years"
"""
WITHIN_30_DAYS = """[[event]]
id = "install or replace"
kind = "protection"
event = "unprotected"
days = 30
citation = "a program's own rule: protection within 30 days"
"""
CONNECTICUT = """[[protection]]
id = "fire line with chemicals"
services = ["fire"]
chemicals = true
allowed = ["RP", "RPDA"]
citation = "Conn. Gen. Stat. 19a-37a"

[[protection]]
id = "fire line"
services = ["fire"]
allowed = ["DC", "DCDA", "RP", "RPDA"]
citation = "Conn. Gen. Stat. 19a-37a"
"""
TEXAS = """[[protection]]
id = "irrigation, high"
services = ["irrigation"]
hazards = ["high"]
allowed = ["AG", "RP"]
citation = "30 TAC 344.50(b)"

[[protection]]
id = "irrigation, low"
services = ["irrigation"]
hazards = ["low"]
allowed = ["AG", "RP", "DC", "PVB", "SVB", "AVB"]
citation = "30 TAC 344.50(c)"
"""
WASHINGTON = """[[protection]]
id = "table 13"
protects = ["containment"]
uses = ["car wash", "mortuary", "hospital"]
allowed = ["AG", "RP"]
citation = "WAC 246-290-490(4)(b), table 13"

[[protection]]
id = "table 12, high"
hazards = ["high"]
protects = ["containment"]
allowed = ["AG", "RP", "RPDA"]
citation = "WAC 246-290-490(4)(b), table 12"

[[protection]]
id = "table 12, low"
hazards = ["low"]
protects = ["containment"]
allowed = ["AG", "RP", "RPDA", "DC", "DCDA"]
citation = "WAC 246-290-490(4)(b), table 12"
"""
LADDER = """[[rung]]
key = "test-owed"
trigger = "prompted"
kinds = ["protection"]
citation = "a test's own rung"

[[rung]]
key = "first-overdue"
trigger = "due"
offset_days = 1
kinds = ["protection", "survey"]
citation = "a test's own rung"

[[rung]]
key = "reminder"
trigger = "due"
offset_days = -15
is_skippable = true
citation = "a test's own rung"
"""
TABLES = (TEST_KIND, KINDS, YEARLY, ILLINOIS, WITHIN_30_DAYS)
RULES = "\n".join([*TABLES, CONNECTICUT, TEXAS, WASHINGTON, LADDER])
PRINTED = rules(RULES)
"""Fire lines by Connecticut, irrigation by Texas, the rest by Washington; surveys by Illinois."""

PRINTED_TEXT = text_with(RULES)
"""The same as TOML."""
