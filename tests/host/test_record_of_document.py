"""A saved document is a car to placement records, the same one as its car file."""
import io

import cars
import pytest

from crankline import carfile, headless, record, records

pytestmark = pytest.mark.usefixtures("closes_documents")
CAR = cars.FOLDER / "minimal.yaml"


def test_a_document_gives_the_record_of_its_car_file(tmp_path):
    for name, car in (("file", CAR), ("document", cars.copy(carfile.read(CAR)))):
        err = io.StringIO()
        assert headless.main(["records", "add", str(car), "--records", str(tmp_path), "--name", name, "--quiet"], io.StringIO(), err) == 0
        assert err.getvalue() == ""
    found = records.load([tmp_path]).by_name
    assert record.difference(found["file"].record, found["document"].record) == []
