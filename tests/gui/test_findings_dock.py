"""The check command and its dock in a real window."""
import pathlib

SCRIPTS = pathlib.Path(__file__).parent / "scripts"


def test_findings_dock(gui_run):
    finished = gui_run(SCRIPTS / "findings.py", check=False)   # 0.20 prints a traceback when an object's execute refuses
    assert finished.returncode == 0 and "crankline/gui" not in finished.stderr, finished.log
    first, steep, whole, dead, closed = finished.reported
    assert first["columns"] == ["State", "Severity", "Rule", "Part", "Measured", "Limit", "Margin", "Basis"]
    assert first["undo"] and "open: 0 error" in first["summary"]

    assert steep["old"].startswith("Older than the document")
    state, severity, rule, _part, measured, limit, margin, basis = steep["row"]
    assert (state, severity, measured, limit, margin) == ("open", "advice", "3.00 deg", "1.90 to 2.20 deg", "-0.80 deg")
    assert "pitch" in rule.lower() and "common practice" in basis
    assert steep["selected"] == ["Engine"]
    assert all(word in steep["details"] for word in (rule, "Measured 3.00 deg", "Basis", "rule book")), steep["details"]
    assert set(steep["states"]) <= {"open", "not evaluated", "waiver void"}
    assert whole["all"] == whole["findings"] > whole["passed"] > 10 and whole["empty cells"] == 0
    assert dead["not evaluated"] and dead["dead"] == [["open", "error"]]
    assert closed["closed"] == ["No car was checked yet", 0]
