"""The window's isometric view of the demo cars: the whole car fills it."""
import pathlib

SCRIPTS = pathlib.Path(__file__).parent / "scripts"
ROOT = pathlib.Path(__file__).parent.parent.parent


STEMS = "full_bodied_automatic", "open_clutch"


def test_demo_pictures(gui_run, screenshots):
    pictures = [screenshots / f"{stem}.png" for stem in STEMS]
    given = [item for stem, picture in zip(STEMS, pictures) for item in (ROOT / "demo_assemblies" / f"{stem}.yaml", picture)]
    reported = gui_run(SCRIPTS / "demo_picture.py", *given).reported
    assert len(reported) == len(STEMS)
    for found, picture in zip(reported, pictures):
        looks_whole(found, picture)


def looks_whole(found, picture):
    """All parts of a car stand in its picture and fill it."""
    assert found["shown"] == found["parts"] > 15
    from PySide import QtGui
    image = QtGui.QImage(str(picture))
    assert (image.width(), image.height()) == (1200, 700)
    background = image.pixel(2, 2)
    columns = [x for x in range(image.width()) if any(image.pixel(x, y) != background for y in range(0, 700, 2))]
    rows = [y for y in range(image.height()) if any(image.pixel(x, y) != background for x in range(0, 1200, 2))]
    # The car just fills the picture, one way or the other, and is cut off at no side.
    assert columns[0] > 3 and columns[-1] < 1196 and rows[0] > 3 and rows[-1] < 696
    assert columns[-1] - columns[0] > 1080 or rows[-1] - rows[0] > 630
