"""Types as offices write them, by the trade's abbreviations and product standards."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from registry.domain.assembly_types import read_type
from registry.domain.cells import UnreadableCellError
from registry.domain.kinds import AssemblyType as A


@pytest.mark.parametrize(
    ("written", "kind"),
    [
        ("RPZ", A.RP), ("RPBA", A.RP), ("Reduced Pressure", A.RP), ("RP", A.RP), ("rp ", A.RP),
        ("R.P.Z.", A.RP), ("RPZ Assembly", A.RP), ("Reduced Pressure Zone", A.RP),
        ("Reduced Pressure Principle Backflow Prevention Assembly", A.RP),
        ("RP - Reduced Pressure", A.RP), ("RPP", A.RP),
        ("DCVA", A.DC), ("Double Check", A.DC), ("DC", A.DC), ("dcva", A.DC), ("DCV", A.DC),
        ("Double Check Valve Assembly", A.DC), ("DCVA (Double Check Valve Assembly)", A.DC),
        ("Double-check", A.DC), ("Dbl Chk", A.DC), ("D.C.", A.DC),
        ("RPDA", A.RPDA), ("Reduced Pressure Detector Assembly", A.RPDA), ("RP Detector", A.RPDA),
        ("DCDA", A.DCDA), ("Double Check Detector Assembly", A.DCDA), ("DDCVA", A.DCDA),
        ("Double Detector Check", A.DCDA), ("Double Check Detector Check", A.DCDA),
        ("RPDA-II", A.RPDA_II), ("RPDA type II", A.RPDA_II), ("rpda-2", A.RPDA_II),
        ("DCDA-II", A.DCDA_II), ("DCDA II", A.DCDA_II), ("Type II DCDA", A.DCDA_II),
        ("DCDA Type 2", A.DCDA_II),
        ("PVB", A.PVB), ("PVBA", A.PVB), ("Pressure Vacuum Breaker", A.PVB),
        ("Press. Vac. Breaker", A.PVB),
        ("SVB", A.SVB), ("SRPVB", A.SVB), ("SPVB", A.SVB), ("Spill-Resistant PVB", A.SVB),
        ("Spill resistant pressure vacuum breaker", A.SVB), ("SVBA", A.SVB),
        ("AVB", A.AVB), ("Atmospheric Vacuum Breaker", A.AVB), ("Atmospheric VB", A.AVB),
        ("AG", A.AG), ("Air Gap", A.AG), ("air-gap", A.AG), ("Air gap separation", A.AG),
    ],
)  # fmt: skip
def test_the_trades_spellings_name_the_type(written: str, kind: A) -> None:
    assert read_type(written) is kind


@pytest.mark.parametrize(
    ("standard", "kind"),
    # product standards by type: ASSE numbers, trade table of types (OAC 3745-95-06(A) and others)
    [("1013", A.RP), ("1015", A.DC), ("1047", A.RPDA), ("1048", A.DCDA), ("1020", A.PVB),
     ("1056", A.SVB), ("1001", A.AVB)],
)  # fmt: skip
def test_a_product_standard_names_its_type(standard: str, kind: A) -> None:
    assert read_type(f"ASSE {standard}") is kind
    assert read_type(f"{kind.value} ASSE {standard}") is kind


@pytest.mark.parametrize(
    "written",
    ["", "n/a", "??", "XYZ-9", "RPZ2", "DC/RP", "RP DC", "VB", "Vacuum breaker", "Detector check",
     "PVB/SVB/AVB", "valve", "assembly", "RP-II", "backflow preventer"],
)  # fmt: skip
def test_none_or_more_than_one_type_is_unreadable(written: str) -> None:
    with pytest.raises(UnreadableCellError, match=r"write .*RP"):
        read_type(written)


@pytest.mark.parametrize("written", ["Dual Check", "dual check valve", "DUAL CHK"])
def test_a_dual_check_is_told_apart_from_a_double_check(written: str) -> None:
    # ASSE 1024 is a residential dual check without a field test, not ASSE 1015
    with pytest.raises(UnreadableCellError, match="dual check"):
        read_type(written)


@given(st.sampled_from(list(A)), st.sampled_from([str.lower, str.upper, str.title, str.strip]))
def test_every_type_as_exported_reads_back_to_itself(kind: A, cased: object) -> None:
    assert callable(cased)
    assert read_type(cased(kind.value)) is kind


@given(st.text(max_size=30))
def test_no_text_does_anything_but_name_a_type_or_refuse(written: str) -> None:
    try:
        found = read_type(written)
    except UnreadableCellError:
        return
    assert found in A
