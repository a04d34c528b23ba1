"""Forms of the import pages: a file sent in, and what its columns mean."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from django import forms
from django.conf import settings
from django.core.exceptions import ValidationError
from django.core.files.uploadedfile import UploadedFile

from inventory.importing import mapping as mappings
from inventory.importing import values
from inventory.importing.mapping import LENGTHS, Mapping, MappingProblem, Role
from inventory.importing.run import Source
from inventory.importing.values import LENGTH_UNITS, DateOrder, Status
from inventory.models import Park

FREE_WORDS_MAX = 20
_CHAPTERS: dict[str, tuple[Role, ...]] = {
    "Which record": (Role.TAG, Role.TYPE, Role.STATUS, Role.PARK),
    "Name": (Role.BOTANICAL, Role.COMMON, Role.GENUS, Role.EPITHET, Role.CULTIVAR),
    "Place": (Role.LATITUDE, Role.LONGITUDE, Role.POINT, Role.X, Role.Y),
    "Trunk": (Role.DBH, Role.GIRTH, Role.SIZE_CLASS, Role.STUMP),
    "Size, age and health": (
        Role.HEIGHT,
        Role.SPREAD,
        Role.PLANTED,
        Role.PLANTED_YEAR,
        Role.CONDITION,
        Role.NOTE,
    ),
}
_FACTORS = (("1.0", "as they are"), ("0.5", "half: each was doubled"), ("2.0", "double: each was halved"))


def megabytes(size: int) -> str:
    return f"{size / 1024 / 1024:,.0f} MB"


class UploadForm(forms.Form):
    """A tree file; whether it can be read is found out when it is opened."""

    file = forms.FileField(
        label="Tree file",
        help_text="CSV, XLSX or GeoJSON, as it comes from your office or your city's open data.",
        error_messages={"required": "Choose a file.", "empty": "The file is empty."},
    )
    park = forms.ModelChoiceField(
        Park.objects.all(),
        label="One park for the whole file",
        required=False,
        empty_label="No: by its park column or by the park boundaries",
    )

    def clean_file(self) -> UploadedFile[Any]:
        file: UploadedFile[Any] = self.cleaned_data["file"]
        most = settings.IMPORT_MAX_BYTES
        if (file.size or 0) > most:
            raise ValidationError(
                f"The file has {megabytes(file.size or 0)}; {megabytes(most)} is the most. Send it in parts, or as CSV."
            )
        return file


class MappingForm(forms.Form):
    """Which column is what, filled with a mapping to be confirmed; cleaned to a ``Mapping`` in ``mapping``."""

    mapping: Mapping

    def __init__(self, *args: Any, source: Source, shown: Mapping, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self._header = source.table.header
        choices = [("", "not in the file"), *((heading, heading) for heading in self._header)]
        for role in Role:
            self._add(role.value, forms.ChoiceField(choices=choices), role.label, shown.columns.get(role, ""))
            if role in LENGTHS:
                units = [(unit, unit) for unit in LENGTH_UNITS]
                label = f"{role.label}: unit of bare numbers"
                self._add(f"{role}_unit", forms.ChoiceField(choices=units), label, shown.unit(role))
        self._add_orders(shown)
        self._add_words(source, shown)

    def _add(self, name: str, field: forms.Field, label: str, initial: Any, hint: str = "") -> None:
        field.label, field.initial, field.required, field.help_text = label.capitalize(), initial, False, hint
        self.fields[name] = field

    def _add_orders(self, shown: Mapping) -> None:
        epsg = forms.IntegerField(min_value=1024, max_value=999_999)
        self._add("epsg", epsg, "EPSG code of easting and northing", shown.epsg, "For example 2263 or 27700.")
        orders = ((DateOrder.DMY, "day first: 14/10/1998"), (DateOrder.MDY, "month first: 10/14/1998"))
        self._add("date_order", forms.ChoiceField(choices=orders), "Dates", shown.date_order)
        marks = ((".", "point: 14.5"), (",", "comma: 14,5"))
        self._add("decimal", forms.ChoiceField(choices=marks), "Decimal mark", "," if shown.decimal_comma else ".")
        self._add("diameter_factor", forms.ChoiceField(choices=_FACTORS), "Diameters", str(shown.diameter_factor))

    def _add_words(self, source: Source, shown: Mapping) -> None:
        """The status words of the file that mean nothing here, to be translated."""
        choices = [("", "refuse the row"), *((status.value, status.value) for status in Status)]
        self.words = list(unknown_words(source, shown))
        for place, word in enumerate(self.words):
            said = shown.status_words.get(word, "")
            self._add(f"word_{place}", forms.ChoiceField(choices=choices), f"“{word}”", said)

    def chapters(self) -> Iterator[tuple[str, list[list[forms.BoundField]]]]:
        """Headings with rows of fields: a column with its unit side by side."""
        for title, roles in _CHAPTERS.items():
            rows = [[self[role], *([self[f"{role}_unit"]] if role in LENGTHS else [])] for role in roles]
            yield title, rows + _EXTRA_ROWS.get(title, lambda form: [])(self)
        if self.words:
            yield "Words of the status that are not known here", [[self[f"word_{n}"]] for n in range(len(self.words))]

    def clean(self) -> None:
        if self.errors:
            return
        try:
            self.mapping = mappings.from_json(self._as_json(), self._header)
        except MappingProblem as problem:
            raise ValidationError(str(problem)) from None

    def _as_json(self) -> dict[str, Any]:
        said = self.cleaned_data
        columns = {role: said[role] for role in Role if said[role]}
        return {
            "columns": columns,
            "units": {role: said[f"{role}_unit"] for role in LENGTHS if role in columns},
            "date_order": said["date_order"],
            "epsg": said["epsg"],
            "decimal": said["decimal"],
            "diameter_factor": float(said["diameter_factor"]),
            "status_words": {word: said[f"word_{n}"] for n, word in enumerate(self.words) if said[f"word_{n}"]},
        }


_EXTRA_ROWS = {
    "Place": lambda form: [[form["epsg"], form["decimal"]]],
    "Trunk": lambda form: [[form["diameter_factor"]]],
    "Size, age and health": lambda form: [[form["date_order"]]],
}


def unknown_words(source: Source, shown: Mapping) -> Iterator[str]:
    """What stands in the status columns of the sample and is no status, the most frequent first; at most twenty."""
    headings = [shown.columns[role] for role in (Role.STATUS, Role.TYPE) if role in shown.columns]
    found = [
        word
        for column in source.sampled
        if column.heading in headings
        for word, _ in column.distinct.most_common()
        if values.status_word(word) is None
    ]
    yield from found[:FREE_WORDS_MAX]
