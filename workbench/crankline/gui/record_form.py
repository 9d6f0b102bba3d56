"""A form for one record of the model, made from the descriptions of its fields: nobody lays out fields by hand.

What is not given is an empty line that shows its default pale, so that absent and default stay told apart. What decides stands first; what
has a default that nearly always serves is under *More*. A wrong text is told beside its field.
"""
from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from typing import Any

from PySide import QtCore, QtGui

from .. import catalog, model, spelling
from ..catalog import sizes
from ..catalog.used import TABLE_OF, settled
from ..record import Described, entries, filled
from . import field_texts
from .catalog_fields import Departures, StockSizes, preview_label
from .messages import problem_label
from .point_picking import pick_button
from .quantity_field import QuantityField

ASIDE = ("waivers", "digest", "as_built")
"""Lists that have a window of their own, and what Crankline finds by itself."""


class FormError(ValueError):
    """What the fields say makes no record; the sentence names the first field that is wrong."""


_SAID = {"x": "X (forward)", "y": "Y (left)", "z": "Z (up)", "use": "Catalog row"}


def words(name: str) -> str:
    """A field's or a choice's name as a label: ``crank_height`` is Crank height."""
    text = _SAID.get(name) or name.strip("_").replace("_", " ")
    return text[:1].upper() + text[1:]


class RecordForm(QtGui.QWidget):
    """Fields for a record of a type; ``changed`` is emitted at every edit.

    ``record``: what is shown, None for a record of which nothing is given; ``system``: the car's unit of lengths. ``name`` begins the
    object names of its fields: ``Crankline_section_wall``; ``aside``: fields that it does not show, and gives back as they are.
    """

    changed = QtCore.Signal()

    def __init__(self, kind: type, record: Any, system: str, name: str = "Crankline", default: Any = None, parent=None,
                 aside: tuple[str, ...] = ()):
        super().__init__(parent)
        self.kind, self.system, self.name = kind, system, name
        self._fields: dict[str, Any] = {}
        self._record = record
        self._stock: list[StockSizes] = []
        self._departures: Departures | None = None
        column = QtGui.QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        main, rest = QtGui.QFormLayout(), QtGui.QFormLayout()
        for layout in (main, rest):
            layout.setContentsMargins(0, 0, 0, 0)
            layout.setFieldGrowthPolicy(QtGui.QFormLayout.AllNonFixedFieldsGrow)
            layout.setRowWrapPolicy(QtGui.QFormLayout.WrapLongRows)   # a task panel is narrow
        column.addLayout(main)
        for field, entry in entries(kind).items():
            if entry.kind == "records" or field in (*ASIDE, *aside) or entry.internal:
                continue
            held, stand_in = getattr(record, field, None), getattr(default, field, None)
            stand_in = entry.default if stand_in is None else stand_in
            self._add(main if entry.required or stand_in is None or entry.kind == "record" else rest, field, entry, held, stand_in)
        self._others = {field: getattr(record, field, None) for field in entries(kind) if field not in self._fields}
        if rest.rowCount():
            column.addWidget(_More(name, rest, unfolded=not main.rowCount()))
        if kind is model.Solid:
            column.addWidget(pick_button(self))
        for stock in self._stock:
            stock.follow({field: getattr(record, field, None) for field in stock.fields})
        self._depart()

    def _add(self, layout, field: str, entry: Described, held: Any, default: Any) -> None:
        if entry.table and entry.kind != "text":
            stock = StockSizes(f"{self.name}_{field}_stock", entry.table, self.kind)
            stock.picked.connect(self.fill)
            self.changed.connect(lambda: stock.follow(self.as_far_as_given(stock.fields)))
            layout.addRow("Stock size", stock)
            self._stock.append(stock)
        made = _field(f"{self.name}_{field}", field, entry, held, default, self.system)
        made.changed.connect(self.changed)
        self._fields[field] = made
        if made.label is None:
            layout.addRow(made.widget)
            return
        label = QtGui.QLabel(made.label)
        label.setBuddy(made.widget)
        layout.addRow(label, made.box)
        if field == "use" and self.kind in TABLE_OF:
            # Whoever picks another row gets its figures: a name never stands beside those of another one.
            layout.addRow(departures := Departures(f"{self.name}_departs"))
            self._departures = departures
            made.widget.activated.connect(lambda _number: self.fill(vars(catalog.row(TABLE_OF[self.kind], made.value()))))
            self.changed.connect(self._depart)

    def fill(self, values: Mapping[str, Any]) -> None:
        """Put values into fields, None for what is not given; fields that are not named stay as they are."""
        for field, value in values.items():
            if field in self._fields:
                self._fields[field].put(value)
        self.changed.emit()

    def as_far_as_given(self, fields: Iterable[str]) -> dict[str, Any]:
        """What some fields give, None where that is wrong."""
        found = {}
        for field in fields:
            try:
                found[field] = self._fields[field].value(quiet=True)
            except FormError:
                found[field] = None
        return found

    def _depart(self) -> None:
        """Tell what departs from the row that is named."""
        if self._departures is not None:
            self._departures.show_of(settled(self.kind(**{**self._others, **self.as_far_as_given(self._fields)}), self._record))

    def value(self, quiet: bool = False) -> Any:
        """The record that the fields give, absent where they are empty; FormError names the first that is wrong, and each tells its own
        unless ``quiet``."""
        given, wrong = dict(self._others), []
        for field, one in self._fields.items():
            try:
                given[field] = one.value(quiet)
            except FormError as error:
                wrong.append(error)
        if wrong:
            raise wrong[0]
        made = self.kind(**given)
        return settled(made, self._record) if self.kind in TABLE_OF else made

    def given(self, field: str) -> Any:
        """What one field gives, None where it is empty; FormError where it is wrong."""
        return self._fields[field].value()

    def has(self, field: str) -> bool:
        """Whether there is a widget for a field."""
        return field in self._fields

    def widget(self, field: str) -> Any:
        """The widget of one field."""
        return self._fields[field].widget

    def lock(self, field: str, why: str) -> None:
        """Show a field that is not for typing; ``why`` is its tip."""
        widget = self.widget(field)
        widget.setToolTip(why)
        if hasattr(widget, "setReadOnly"):
            widget.setReadOnly(True)
        else:
            widget.setEnabled(False)

    def focus(self) -> None:
        """Put the cursor into the first field, its text selected."""
        shown = [one for one in self._fields.values() if one.widget.isVisibleTo(self)] or list(self._fields.values())
        shown[0].focus()


class _More(QtGui.QWidget):
    """The fields that nearly always keep their defaults, folded away."""

    def __init__(self, name: str, layout, unfolded: bool):
        super().__init__()
        column = QtGui.QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        button, inside = QtGui.QToolButton(), QtGui.QWidget()
        button.setObjectName(f"{name}_more")
        button.setText("More")
        button.setCheckable(True)
        button.setToolButtonStyle(QtCore.Qt.ToolButtonTextBesideIcon)
        button.setAutoRaise(True)
        inside.setLayout(layout)
        column.addWidget(button)
        column.addWidget(inside)

        def unfold(on: bool) -> None:
            inside.setVisible(on)
            button.setArrowType(QtCore.Qt.DownArrow if on else QtCore.Qt.RightArrow)

        button.toggled.connect(unfold)
        button.setChecked(unfolded)
        unfold(unfolded)


class _Field(QtCore.QObject):
    """One field: a widget, and below it a line that tells what is wrong with it."""

    changed = QtCore.Signal()

    def __init__(self, label: str | None, widget, tip: str = ""):
        super().__init__()
        self.label, self.widget = label, widget
        widget.setToolTip(tip)
        self.box, self._problem = QtGui.QWidget(), problem_label(f"{widget.objectName()}_problem")
        column = QtGui.QVBoxLayout(self.box)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(1)
        column.addWidget(widget)
        column.addWidget(self._problem)

    def value(self, quiet: bool = False) -> Any:
        """The field's value, None where it is not given; FormError where it is wrong, which is told beside it too unless ``quiet``."""
        raise NotImplementedError

    def put(self, value: Any) -> None:
        """Show another value, None for one that is not given."""
        raise NotImplementedError

    def tell(self, problem: str, quiet: bool = False) -> None:
        """Show what is wrong, or nothing; FormError where something is."""
        if not quiet:
            self._problem.setText(problem)
            self._problem.setVisible(bool(problem))
        if problem:
            raise FormError(problem)

    def _edited(self, *_ignored: object) -> None:
        """What was wrong is being mended: it is looked at again when the form is."""
        self._problem.setVisible(False)
        self.changed.emit()

    def focus(self) -> None:
        """Put the cursor into it."""
        self.widget.setFocus()
        if hasattr(self.widget, "selectAll"):
            self.widget.selectAll()


class _Number(_Field):
    """A quantity, a plain number or a whole one."""

    def __init__(self, name: str, label: str, entry: Described, held: Any, default: Any, system: str):
        line = QuantityField(name, label, entry.kind, system, entry.low, entry.high, None, may_be_blank=True)
        if default is not None:
            line.setPlaceholderText(f"{line.shown(default)} unless given")
        elif not entry.required:
            line.setPlaceholderText("not given")
        line.set_value(held)
        super().__init__(label, line, f"{_sentence(entry)}{_range(line, entry)}")
        line.changed.connect(self._edited)
        self._needed = entry.required

    def put(self, value: Any) -> None:
        self.widget.set_value(value)
        self._problem.setVisible(False)

    def value(self, quiet: bool = False) -> Any:
        value = self.widget.value()
        problem = self.widget.problem
        if value is None and not problem and self._needed:
            problem = f"{self.label}: nothing was given; type a value."
        self.tell(problem, quiet)
        return int(value) if value is not None and self.widget.kind == "count" else value


class _Choice(_Field):
    """One of some values, or what serves where none is chosen. ``about``: what stands below it of a chosen value, and its tip."""

    def __init__(self, name: str, label: str, entry: Described, held: Any, default: Any, options: tuple[tuple[Any, str], ...],
                 about: Callable[[Any], tuple[str, str]] | None = None):
        combo = QtGui.QComboBox()
        combo.setObjectName(name)
        combo.setAccessibleName(label)
        combo.setMinimumContentsLength(8)
        combo.setSizeAdjustPolicy(QtGui.QComboBox.AdjustToMinimumContentsLengthWithIcon)
        known = dict(options)
        if not entry.required:
            combo.addItem("not given" if default is None else f"{known.get(default, default)} unless given", None)
        for value, text in options:
            combo.addItem(text, value)
        if held is not None and held not in known:
            combo.addItem(str(held), held)   # a row that the catalog no longer holds is shown as it is
        super().__init__(label, combo, _sentence(entry))
        self._values = [combo.itemData(number) for number in range(combo.count())]
        combo.setCurrentIndex(self._values.index(held) if held in self._values else 0)
        if about is not None:
            below = preview_label(f"{name}_sizes")
            self.box.layout().insertWidget(1, below)
            self._preview = lambda: self._show(below, about(self.value() or default))
            self.changed.connect(self._preview)
            self._preview()
        combo.currentIndexChanged.connect(lambda *_: self.changed.emit())

    @staticmethod
    def _show(label, told: tuple[str, str]) -> None:
        label.setText(told[0])
        label.setToolTip(told[1])

    def put(self, value: Any) -> None:
        if value not in self._values:
            self.widget.addItem(str(value), value)
            self._values.append(value)
        self.widget.setCurrentIndex(self._values.index(value))

    def value(self, quiet: bool = False) -> Any:
        return self._values[self.widget.currentIndex()]


class _Text(_Field):
    """A line of text, or several words with commas between them, or holes or points with semicolons between them."""

    def __init__(self, name: str, label: str, entry: Described, held: Any, default: Any, write: Callable[[Any], str],
                 take: Callable[[str], Any]):
        line = QtGui.QLineEdit("" if held is None else write(held))
        line.setObjectName(name)
        line.setAccessibleName(label)
        line.setPlaceholderText("" if entry.required else f"{write(default)} unless given" if default else "not given")
        super().__init__(label, line, _sentence(entry))
        self._entry, self._take, self._write = entry, take, write
        self._empty = held if not held and held is not None else None
        line.textEdited.connect(self._edited)

    def put(self, value: Any) -> None:
        self.widget.setText("" if value is None else self._write(value))
        self._empty = value if not value and value is not None else None
        self._problem.setVisible(False)

    def value(self, quiet: bool = False) -> Any:
        text, problem, found = self.widget.text().strip(), "", None
        if not text:
            problem = f"{self.label}: nothing was given; type a text." if self._entry.required else ""
            found = self._empty
        else:
            try:
                found = self._take(text)
            except ValueError as error:
                problem = f"{self.label}: {str(error).rstrip('.')}."
        self.tell(problem, quiet)
        return found


class _Nested(_Field):
    """A record within the record; one that may be absent has a check mark."""

    def __init__(self, name: str, label: str, entry: Described, held: Any, default: Any, system: str):
        group = QtGui.QGroupBox(label)
        group.setObjectName(name)
        column = QtGui.QVBoxLayout(group)
        column.setContentsMargins(6, 12, 6, 4)     # below the title, which some styles put over the frame
        assert entry.record is not None
        self._form = RecordForm(entry.record, held, system, name, default)
        column.addWidget(self._form)
        self._always = entry.required
        self._default = default
        if not entry.required:
            group.setCheckable(True)
            group.setChecked(held is not None)
            group.toggled.connect(lambda *_: self.changed.emit())
        super().__init__(None, group, _sentence(entry))
        self._form.changed.connect(self.changed)

    def put(self, value: Any) -> None:
        self._form.fill({field: getattr(value, field, None) for field in entries(self._form.kind)})
        if not self._always:
            self.widget.setChecked(value is not None)

    def value(self, quiet: bool = False) -> Any:
        return self._form.value(quiet) if self._always or self.widget.isChecked() else None

    def focus(self) -> None:
        self._form.focus()


def _field(name: str, field: str, entry: Described, held: Any, default: Any, system: str) -> _Field:
    """The field for a described entry."""
    label = words(entry.key or field)
    if entry.kind == "record":
        return _Nested(name, label, entry, held, filled(default) if default is not None else None, system)
    if entry.kind == "choice":
        return _Choice(name, label, entry, held, default, tuple((word, words(spelling.read(word))) for word in entry.choices))
    if entry.kind == "flag":
        return _Choice(name, label, entry, held, default, ((True, "Yes"), (False, "No")))
    if entry.table and entry.kind == "text":
        known, table = catalog.names(entry.table), entry.table
        return _Choice(name, label, entry, held, default, tuple((row, row) for row in known),
                       lambda row: (sizes.line(table, row, system), sizes.origin(table, row)) if row in known else ("", ""))
    if entry.kind == "text":
        return _Text(name, label, entry, held, default, str, field_texts.date if entry.form == "date" else str)
    if entry.kind == "texts":
        return _Text(name, label, entry, held, default, ", ".join, field_texts.words)
    if entry.kind in field_texts.ROWS:
        return _Text(name, label, entry, held, default, lambda rows: field_texts.rows_text(rows, system),
                     lambda text: field_texts.rows(text, system, field_texts.ROWS[entry.kind]))
    return _Number(name, label, entry, held, default, system)


def _sentence(entry: Described) -> str:
    return entry.doc[:1].upper() + entry.doc[1:]


def _range(line: QuantityField, entry: Described) -> str:
    """The range of a number, where it says more than that a car is no longer than 100 m."""
    low, high = entry.low > -1e5, entry.high < 1e5
    least, most = line.limits()
    return f"; {least} to {most}" if low and high else f"; from {least}" if low else f"; up to {most}" if high else ""
