"""Forms of concerns: the public one, the staff's, the decisions, the city's settings and plain answers."""

from __future__ import annotations

import datetime as dt
from typing import Any, ClassVar
from uuid import UUID

from django import forms
from django.conf import settings
from django.core import signing
from django.core.exceptions import ValidationError
from django.http import QueryDict
from django.utils import timezone
from uuid_utils.compat import uuid7

from hazards.concerns import ANSWER_MAX, CONTACT_MAX, DESCRIPTION_MAX, PLACE_MAX, Told
from hazards.forms import asks
from hazards.models import ConcernDesk, InspectionLevel, PlainAnswer, Seen
from hazards.models.concerns import CONTACT_DAYS_MAX
from hazards.work_forms import day_field, words_field
from inventory.errors import Refused
from inventory.fields import PositionField
from inventory.models import Park, Tree
from inventory.photos import clean_jpeg

OPENED_FOR = dt.timedelta(hours=12)
_SALT = "hingewood.report"


class PhotoField(forms.FileField):
    """One photo, decoded here, so that a bad one is told before anything is stored."""

    widget = forms.ClearableFileInput(attrs={"accept": "image/jpeg,image/png,image/webp"})

    def clean(self, data: Any, initial: Any = None) -> Any:
        upload = super().clean(data, initial)
        if upload:
            try:
                clean_jpeg(upload)
            except Refused as refusal:
                raise ValidationError(str(refusal)) from None
            upload.seek(0)
        return upload


class ToldForm(forms.Form):
    """What both forms ask."""

    seen = forms.ChoiceField(
        label="What did you see?",
        choices=Seen.choices,
        widget=forms.RadioSelect,
        error_messages=asks("Pick what comes closest to what you saw."),
    )
    description = forms.CharField(
        label="In your own words",
        required=False,
        max_length=DESCRIPTION_MAX,
        widget=forms.Textarea(attrs={"rows": 4}),
        help_text="What it looks like, and since when. Please name no people.",
    )
    place = forms.CharField(
        label="Where is the tree?",
        required=False,
        max_length=PLACE_MAX,
        help_text="For example: by the east gate, second tree left of the bench. A tag on the stem helps most.",
    )
    park = forms.ModelChoiceField(
        queryset=Park.objects.none(), to_field_name="code", required=False, empty_label="I do not know"
    )
    position = PositionField(required=False)
    photo = PhotoField(
        required=False,
        help_text="JPEG, PNG or WebP. Place, time and device are taken out of the file. Please no people.",
    )
    contact = forms.CharField(
        label="How can we reach you?",
        required=False,
        max_length=CONTACT_MAX,
        widget=forms.TextInput(attrs={"autocomplete": "email"}),
    )

    def __init__(self, *args: Any, contact_days: int, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["park"].queryset = Park.objects.only("code", "name").order_by("name")  # type: ignore[attr-defined]
        self.fields["contact"].help_text = f"Mail address or telephone. Erased after {contact_days} days."

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        if not self.errors and not (cleaned.get("place") or cleaned.get("position") or cleaned.get("tag")):
            self.add_error("place", "Say where the tree stands: in words, or as a position below.")
        return cleaned

    def told(self) -> Told:
        """Of a valid form."""
        cleaned, position = self.cleaned_data, self.cleaned_data["position"]
        return Told(
            seen=Seen(cleaned["seen"]),
            description=cleaned["description"],
            place=cleaned["place"],
            lon=position.lon if position else None,
            lat=position.lat if position else None,
            park=cleaned["park"],
            tree=cleaned.get("tag"),
            contact=cleaned["contact"],
            photo=cleaned["photo"],
        )


class PublicForm(ToldForm):
    """Guarded without troubling people: a field that only a program fills in, and a signed slip that says when the page
    was opened and under which id the report is kept, so that sending it twice keeps it once."""

    website = forms.CharField(required=False, label="Leave this empty")
    slip = forms.CharField(required=False, widget=forms.HiddenInput)

    def __init__(self, data: Any = None, *args: Any, **kwargs: Any) -> None:
        super().__init__(data, *args, **kwargs)
        self.fields["website"].widget.attrs.update({"tabindex": "-1", "autocomplete": "off"})
        self.initial["slip"] = new_slip()

    def clean_website(self) -> str:
        if self.cleaned_data["website"]:
            raise ValidationError("Leave this field empty; it catches programs that fill in every field.")
        return ""

    def clean_slip(self) -> UUID:
        try:
            slip = signing.loads(self.cleaned_data["slip"], salt=_SALT, max_age=OPENED_FOR)
        except signing.BadSignature:
            self._renew()
            raise ValidationError("This page was open for long; look it over and send it again.") from None
        if timezone.now().timestamp() - slip["at"] < settings.PUBLIC_FORM_LEAST_SECONDS:
            raise ValidationError("That was quicker than one can read; look it over and send it again.")
        return UUID(slip["id"])

    def _renew(self) -> None:
        self.data = {**self.data.dict(), "slip": new_slip()} if isinstance(self.data, QueryDict) else self.data


def new_slip() -> str:
    return signing.dumps({"id": str(uuid7()), "at": timezone.now().timestamp()}, salt=_SALT)


class TagField(forms.CharField):
    """A tree by its tag; a Tree or None."""

    def clean(self, value: Any) -> Any:
        tag = super().clean(value).strip()
        if not tag:
            return None
        trees = Tree.objects.select_related("species", "park").defer("park__boundary")
        if tree := trees.filter(tag__iexact=tag).first():
            return tree
        raise ValidationError(f"No tree has the tag “{tag}”.")


class StaffForm(ToldForm):
    tag = TagField(label="Tag of the tree", max_length=40, required=False)
    field_order = ["seen", "description", "tag", "place", "park", "position", "photo", "contact"]


class DecisionForm(forms.Form):
    """``state``: what the person looked at; somebody else may decide meanwhile."""

    state = forms.CharField(widget=forms.HiddenInput, max_length=10)


class AnswerForm(DecisionForm):
    text = forms.CharField(
        label="Answer",
        max_length=ANSWER_MAX,
        widget=forms.Textarea(attrs={"rows": 6}),
        help_text="Whoever has the reference can read it; name no people.",
        error_messages=asks("Write the answer, or pick a plain one."),
    )


class InspectionAskedForm(DecisionForm):
    due_on = day_field("A look by")
    level = forms.TypedChoiceField(
        label="At least level",
        choices=InspectionLevel.choices,
        coerce=int,
        initial=InspectionLevel.LIMITED_VISUAL.value,
    )
    note = words_field("For the inspector", 150, required=False)


class UrgentForm(DecisionForm):
    note = words_field("For whoever goes", 150, required=False)


class MatchForm(forms.Form):
    tag = TagField(
        label="Tag of the tree", max_length=40, required=False, help_text="Empty: none of the trees that are known."
    )


class DeskForm(forms.ModelForm[ConcernDesk]):
    seen = forms.IntegerField(widget=forms.HiddenInput, min_value=0)
    contact_days = forms.IntegerField(
        label="A contact is kept for",
        min_value=1,
        max_value=CONTACT_DAYS_MAX,
        help_text="Days from the report; then it is erased, with the photos that nobody kept with a tree.",
    )

    class Meta:
        model = ConcernDesk
        fields: ClassVar = ["page_open", "open311_open", "emergency_number", "contact_days"]
        labels: ClassVar = {
            "page_open": "The public page to report a tree is open",
            "open311_open": "Open311 (GeoReport v2) is open",
            "emergency_number": "Emergency number",
        }
        help_texts: ClassVar = {
            "emergency_number": "The number of this place, as people know it; it stands first on the public page."
        }

    def __init__(self, data: Any, *, instance: ConcernDesk) -> None:
        super().__init__(data, instance=instance, initial={"seen": instance.version})


class PlainAnswerForm(forms.ModelForm[PlainAnswer]):
    class Meta:
        model = PlainAnswer
        fields: ClassVar = ["title", "text", "used"]
        labels: ClassVar = {"title": "What was seen", "text": "Answer", "used": "Offered when a concern is answered"}

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["text"].widget.attrs["rows"] = 5
