"""Forms of the import pages: a file sent in, and what its columns mean."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
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


@dataclass(frozen=True)
class Line:
    """A meaning with the select of its column, that of its unit when it has one, and what the column holds."""

    column: forms.BoundField
    unit: forms.BoundField | None
    values: tuple[str, ...]


class MappingForm(forms.Form):
    """Which column is what, filled with a mapping to be confirmed; cleaned to a ``Mapping`` in ``mapping``."""

    mapping: Mapping

    def __init__(self, *args: Any, source: Source, shown: Mapping, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self._header, self._shown = source.table.header, shown
        self._samples = {column.heading: column.values[:3] for column in source.sampled}
        self._add_columns(shown)
        self._add_orders(shown)
        self._add_words(source, shown)

    def _add(self, name: str, field: forms.Field, label: str, initial: Any, hint: str = "") -> None:
        field.label, field.initial, field.help_text = label[:1].upper() + label[1:], initial, hint
        self.fields[name] = field

    def _add_columns(self, shown: Mapping) -> None:
        choices = [("", "not in the file"), *((heading, heading) for heading in self._header)]
        units = [(unit, unit) for unit in LENGTH_UNITS]
        for role in Role:
            column = forms.ChoiceField(choices=choices, required=False)
            self._add(role.value, column, role.label, shown.columns.get(role, ""))
            if role in LENGTHS:
                unit = forms.ChoiceField(choices=units)
                self._add(f"{role}_unit", unit, f"{role.label}: unit of bare numbers", shown.unit(role))

    def _add_orders(self, shown: Mapping) -> None:
        orders = ((DateOrder.DMY, "day first: 14/10/1998"), (DateOrder.MDY, "month first: 10/14/1998"))
        marks = ((".", "point: 14.5"), (",", "comma: 14,5"))
        epsg = forms.IntegerField(min_value=1024, max_value=999_999, required=False)
        self._add("date_order", forms.ChoiceField(choices=orders), "Dates", shown.date_order)
        self._add("decimal", forms.ChoiceField(choices=marks), "Decimal mark", "," if shown.decimal_comma else ".")
        self._add("diameter_factor", forms.ChoiceField(choices=_FACTORS), "Diameters", str(shown.diameter_factor))
        self._add("epsg", epsg, "EPSG code of easting and northing", shown.epsg, "For example 2263 or 27700.")

    def _add_words(self, source: Source, shown: Mapping) -> None:
        """The status words of the file that mean nothing here, to be translated."""
        choices = [("", "refuse the row"), *((status.value, status.value) for status in Status)]
        self.words = list(unknown_words(source, shown))
        for place, word in enumerate(self.words):
            said = shown.status_words.get(word, "")
            self._add(f"word_{place}", forms.ChoiceField(choices=choices, required=False), f"“{word}”", said)

    def found(self) -> Iterator[Line]:
        """The meanings that have a column."""
        return self._lines(lambda role: role in self._shown.columns)

    def missing(self) -> Iterator[Line]:
        return self._lines(lambda role: role not in self._shown.columns)

    def _lines(self, wanted: Callable[[Role], bool]) -> Iterator[Line]:
        for role in filter(wanted, Role):
            column = self[role]
            yield Line(column, self[f"{role}_unit"] if role in LENGTHS else None, self._samples.get(column.value(), ()))

    def orders(self) -> list[forms.BoundField]:
        return [self[name] for name in ("date_order", "decimal", "diameter_factor", "epsg")]

    def translations(self) -> list[forms.BoundField]:
        return [self[f"word_{place}"] for place in range(len(self.words))]

    def whole_file(self) -> list[tuple[str, tuple[str, ...], str]]:
        """Every column with its first values and what it is taken for, '' when it is left out."""
        taken = {heading: role.label for role, heading in self._shown.columns.items()}
        return [(heading, self._samples[heading], taken.get(heading, "")) for heading in self._header]

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
