"""Forms of the job briefing: checklist, signals, weather and emergency card; and a person's signature."""

from __future__ import annotations

from typing import Any, cast

from django import forms
from django.utils import timezone

from removals import emergency, signals
from removals.briefing import Chapter, Item, checklist
from removals.measured import SPEED, InAllUnits, MeasuredField
from removals.models import CrewRole, JobBriefing, RemovalOrder
from removals.signals import COMMON_PRACTICE, Signal, SignalKind
from removals.taking_down import TakingDown

EMPTY_SIGNALS = 2
SIGNALS_MOST = 30
GUST_MOST_MS = 60
CARD = "card_"


class BriefingForm(InAllUnits, forms.Form):
    """The checklist, one field a chapter, all to be covered; the gust; the emergency card, one field a line."""

    gust_ms = MeasuredField(SPEED, maximum=GUST_MOST_MS, label="Gust measured, held at 2 m (6 ft)")
    weather = forms.CharField(
        label="Weather in words", max_length=200, required=False, help_text="For example: dry, wind from the west."
    )

    def __init__(self, *args: Any, down: TakingDown, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.items = checklist(pull_line=down.pull_line, method=down.method)
        for chapter in Chapter:
            self.fields[_name(chapter)] = _chapter_field(chapter, self.items)
        for line in emergency.LINES:
            self.fields[CARD + line.key] = _card_field(line)

    def chapters(self) -> list[forms.BoundField]:
        return [self[_name(chapter)] for chapter in Chapter]

    def card_lines(self) -> list[forms.BoundField]:
        return [self[CARD + line.key] for line in emergency.LINES]

    def checked(self) -> list[str]:
        return [key for chapter in Chapter for key in self.cleaned_data.get(_name(chapter), ())]

    def card(self) -> dict[str, str]:
        return {line.key: self.cleaned_data[CARD + line.key] for line in emergency.LINES}

    def clean(self) -> dict[str, Any]:
        data = super().clean() or self.cleaned_data
        done = set(self.checked())
        for chapter in Chapter:
            missing = [item for item in self.items if item.chapter is chapter and item.key not in done]
            if missing:
                self.add_error(_name(chapter), _not_covered(missing))
        return data


def first_card(order: RemovalOrder, earlier: JobBriefing | None) -> dict[str, str]:
    """What is known of the place, to be confirmed on site: the briefing before, over what park and tree say."""
    park, tree = order.park, order.tree
    known = {
        "phone": park.phone_coverage,
        "address": park.dispatch_address,
        "position": "" if tree.lat is None else f"{tree.lat:.5f}, {tree.lon:.5f}",
        "access": park.access_note,
        "hospital": park.hospital,
        "trained": ", ".join(_trained(order)),
        **(earlier.emergency if earlier else {}),
    }
    return {CARD + key: text for key, text in known.items()}


def first_signals(earlier: JobBriefing | None) -> list[dict[str, str]]:
    """The rows that the table starts with: those agreed before, else common practice."""
    rows = [Signal(*row) for row in earlier.signals] if earlier else []
    return [{"kind": row.kind, "signal": row.signal, "meaning": row.meaning} for row in rows or COMMON_PRACTICE]


def _trained(order: RemovalOrder) -> list[str]:
    today = timezone.localdate()
    trained = order.crew.filter(worker__first_aid_until__gte=today)
    return [member.worker.name for member in trained.select_related("worker")]


def _not_covered(missing: list[Item]) -> str:
    if len(missing) == 1:
        return f"Not covered yet: {missing[0].words}"
    return f"{len(missing)} items are not covered yet."


def _name(chapter: Chapter) -> str:
    return chapter.name.lower()


def _chapter_field(chapter: Chapter, items: tuple[Item, ...]) -> forms.MultipleChoiceField:
    choices = [(item.key, item.words) for item in items if item.chapter is chapter]
    return forms.MultipleChoiceField(
        label=chapter.value, choices=choices, required=False, widget=forms.CheckboxSelectMultiple
    )


def _card_field(line: emergency.Line) -> forms.CharField:
    return forms.CharField(
        label=line.label,
        help_text=line.hint,
        max_length=emergency.LONGEST,
        error_messages={"required": line.missing},
        widget=forms.TextInput(attrs={"autocomplete": "off"}),
    )


class SignalForm(forms.Form):
    """One signal and its one meaning; a row whose texts are empty is none."""

    kind = forms.ChoiceField(
        label="Given by", choices=[(kind.value, kind.value.capitalize()) for kind in SignalKind], required=False
    )
    signal = forms.CharField(label="Signal", max_length=80, required=False)
    meaning = forms.CharField(label="Means", max_length=120, required=False)

    def row(self) -> Signal | None:
        data = self.cleaned_data
        if not (data.get("signal") or data.get("meaning")):
            return None
        return Signal(data["kind"], data["signal"], data["meaning"])


class BaseSignals(forms.BaseFormSet[SignalForm]):
    def rows(self) -> list[Signal]:
        return [row for form in self.forms if (row := form.row())]

    def clean(self) -> None:
        if not any(self.errors):
            for sentence in signals.gaps(self.rows()):
                raise forms.ValidationError(sentence)


SignalFormSet = cast(
    type[BaseSignals],
    forms.formset_factory(
        SignalForm, formset=BaseSignals, extra=EMPTY_SIGNALS, max_num=SIGNALS_MOST, absolute_max=SIGNALS_MOST
    ),
)


class SignatureForm(forms.Form):
    """One person signs by typing their name."""

    name = forms.CharField(label="Name", max_length=120, widget=forms.TextInput(attrs={"autocomplete": "off"}))
    role = forms.ChoiceField(label="Role", choices=[(role, role.capitalize()) for role in CrewRole.values])
