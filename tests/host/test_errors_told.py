"""What a user does wrong is told as one sentence, in the object and in the report, and without the lines of the program."""
from __future__ import annotations

import cars

SCRIPT = """
import json, sys
import FreeCAD as App
from crankline.features import read
from crankline.features.layout import Layout
document = App.openDocument(sys.argv[1])
parts = {one.Key: one for one in read.members(read.only_layout(document))}
for key, name, value in (("rail_tabs", "Thickness", -3.0), ("layout", "AxleToBlock", 200.0), ("engine_data", "BlockLength", -1.0)):
    before = getattr(parts[key], name)
    setattr(parts[key], name, value)
    document.recompute()
    print("OBJECT", key, "Invalid" in parts[key].State, hasattr(sys, "tracebacklimit"), flush=True)
    print("SENTENCE", parts[key].getStatusString(), flush=True)
    setattr(parts[key], name, before)
document.recompute()
print("WELL", [key for key, one in parts.items() if "Invalid" in one.State], flush=True)
Layout.run = lambda self, obj: {}["what is wrong with the program"]
parts["layout"].touch()
document.recompute()
print("STATE", "Invalid" in parts["layout"].State, flush=True)
"""


def test_errors_of_a_user_have_no_traceback_and_those_of_the_program_have(freecadcmd):
    told = freecadcmd(SCRIPT, cars.copy(cars.AUTOMATIC), check=False)
    assert told.returncode == 0, told.log
    lines = told.stdout.splitlines()
    sentences = [line.partition(" ")[2] for line in lines if line.startswith("SENTENCE")]
    assert [line for line in lines if line.startswith("OBJECT")] == [f"OBJECT {key} True False" for key in
                                                                     ("rail_tabs", "layout", "engine_data")]
    assert "Thickness is -0.11811 in" in sentences[0] and "STATE True" in lines
    assert any(line.endswith("WELL []") for line in lines)      # 1.1 writes its progress before it
    for sentence in sentences:
        assert told.log.count(sentence) > 1        # in the object, and in what the host reports
    # The one traceback is that of the fault that was put into the program.
    assert told.log.count("Traceback (most recent call last)") == 1 and "KeyError" in told.log
