import pathlib
def test_x(gui_run):
    f = gui_run(pathlib.Path(__file__).parent/"scripts"/"first_steps.py", check=False, timeout=60)
    print(f.log[-6000:]); print(f.reported)
    assert f.returncode==0
