"""The walk round a tree in the browser: what is sent, what is stored, what is told."""

import datetime as dt
import io
from typing import Any
from uuid import UUID

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse
from PIL import Image
from uuid_utils.compat import uuid7

from hazards.defects import KINDS
from hazards.models import Inspection, Part, Standing, Target
from hazards.workflow import DefectFound
from inventory.access import Role
from inventory.models import Photo, RecordEntry, Tree
from tests.factories import TreeFactory
from tests.hazards.factories import HIGH, TargetFactory, inspect, pick

pytestmark = pytest.mark.django_db


@pytest.fixture
def tree() -> Tree:
    return TreeFactory(tag="A/17")


@pytest.fixture
def play_area(tree) -> Target:
    return TargetFactory(park=tree.park, name="play area")


@pytest.fixture
def inspector(as_role) -> Client:
    return as_role(Role.INSPECTOR)


def row(number: int, target: Target, **picks: Any) -> dict[str, Any]:
    """One assessment as the page sends it: by default one that rates high."""
    usual = {
        "part": "union",
        "failure_mode": "splitting at the included bark",
        "time_frame_years": 1,
        "failure": "probable",
        "target": target.pk,
        "exposure": "fully exposed",
        "impact": "",
        "consequences": "severe",
    }
    return {f"assessments-{number}-{name}": value for name, value in {**usual, **picks}.items()}


def sheet(*rows: dict[str, Any], **facts: Any) -> dict[str, Any]:
    usual = {"id": str(uuid7()), "observed_at": "2026-05-04T09:30", "level": 2, "condition": "fair"}
    joined = {name: value for each in rows for name, value in each.items()}
    return {**usual, **joined, "assessments-TOTAL_FORMS": len(rows), "assessments-INITIAL_FORMS": 0, **facts}


def send(client: Client, tree: Tree, data: dict[str, Any], **options: Any) -> Any:
    return client.post(reverse("hazards:inspect", args=[tree.tag]), data, **options)


def faults(answer: Any) -> list[str]:
    return [error for form in answer.context["sheet"].faulty() for errors in form.errors.values() for error in errors]


def jpeg(name: str = "oak.jpg", **options: Any) -> SimpleUploadedFile:
    out = io.BytesIO()
    Image.new("RGB", (40, 30), "olive").save(out, "JPEG", **options)
    return SimpleUploadedFile(name, out.getvalue(), "image/jpeg")


class TestPage:
    def test_walks_round_the_tree_in_order(self, inspector, tree):
        html = inspector.get(reverse("hazards:inspect", args=[tree.tag])).content.decode()
        chapters = [
            "Site and targets",
            "Roots and soil",
            "Root collar",
            "Trunk",
            "Unions",
            "Limbs",
            "Crown",
            "Vitality and size",
            "What could fail, and what it would hit",
            "Photos",
        ]
        places = [html.index(f"<legend>{chapter}</legend>") for chapter in chapters]
        assert places == sorted(places)

    def test_offers_only_the_targets_of_the_park(self, inspector, tree, play_area):
        TargetFactory(name="elsewhere")
        form = inspector.get(reverse("hazards:inspect", args=[tree.tag])).context["sheet"].assessments.forms[0]
        assert list(form.fields["target"].queryset) == [play_area]

    def test_is_for_those_who_inspect(self, as_role, tree):
        statuses = {role: as_role(role).get(reverse("hazards:inspect", args=[tree.tag])).status_code for role in Role}
        assert {role for role, status in statuses.items() if status == 200} == {Role.INSPECTOR, Role.MANAGER}
        assert set(statuses.values()) == {200, 403}

    def test_every_common_finding_is_of_a_known_part_and_named_once(self):
        assert set(KINDS) < set(Part.values)
        for kinds in KINDS.values():
            assert len({kind.name for kind in kinds}) == len(kinds)


class TestSending:
    def test_stores_the_look_and_shows_it(self, inspector, tree, play_area, cast):
        answer = send(inspector, tree, sheet(row(0, play_area)))
        inspection = Inspection.objects.get()
        assert answer.url == reverse("hazards:inspection", args=[inspection.pk])
        assert inspection.inspector == cast[Role.INSPECTOR]
        assert inspection.assessments.get().rating == "high"
        assert Standing.objects.get(tree=tree).rating == "high"

    def test_takes_the_suggested_impact_when_none_is_picked(self, inspector, tree, play_area):
        send(inspector, tree, sheet(row(0, play_area, exposure="partly protected")))
        assert Inspection.objects.get().assessments.get().impact == "medium"

    def test_keeps_several_options_and_which_is_advised(self, inspector, tree, play_area):
        options = {
            "option-0-mitigation": "remove",
            "option-0-residual_rating": "low",
            "option-1-mitigation": "prune",
            "option-1-failure": "possible",
            "advised": 1,
        }
        send(inspector, tree, sheet(row(0, play_area, **options)))
        assessment = Inspection.objects.get().assessments.get()
        assert [str(option) for option in assessment.options.all()] == ["prune, leaves moderate", "remove, leaves low"]
        assert assessment.mitigation == "prune"

    def test_a_single_option_is_the_advised_one_wherever_it_stands(self, inspector, tree, play_area):
        send(inspector, tree, sheet(row(0, play_area, **{"option-2-mitigation": "monitor", "advised": 0})))
        assert Inspection.objects.get().assessments.get().options.get().chosen

    def test_of_several_one_is_to_be_advised(self, inspector, tree, play_area):
        options = {"option-1-mitigation": "prune", "option-2-mitigation": "remove", "advised": 0}
        answer = send(inspector, tree, sheet(row(0, play_area, **options)))
        assert faults(answer) == ["No option is advised; advise one of them."]

    def test_a_target_beyond_the_reach_is_suggested_very_low(self, inspector, tree, play_area):
        send(inspector, tree, sheet(row(0, play_area, distance_m="19 m"), height_m="18 m"))
        kept = Inspection.objects.get().assessments.get()
        assert (kept.impact, kept.suggested_impact, kept.zone_m) == ("very low", "very low", 18.0)

    def test_a_dead_tree_reaches_half_as_far_again(self, inspector, tree, play_area):
        send(inspector, tree, sheet(row(0, play_area, distance_m="19 m"), height_m="18 m", condition="dead"))
        assert Inspection.objects.get().assessments.get().impact == "high"

    def test_the_published_table_is_taken_without_a_reason(self, inspector, tree, play_area):
        send(inspector, tree, sheet(row(0, play_area, direction="away", impact="high")))
        kept = Inspection.objects.get().assessments.get()
        assert (kept.impact, kept.suggested_impact, kept.direction) == ("high", "low", "away")

    def test_a_correction_starts_from_the_options_that_were_kept(self, inspector, tree, play_area):
        options = {"option-0-mitigation": "remove", "option-1-mitigation": "prune", "option-1-failure": "possible"}
        send(inspector, tree, sheet(row(0, play_area, **options, advised=1)))
        page = inspector.get(reverse("hazards:correct", args=[Inspection.objects.get().pk]))
        first, second, *_ = page.context["sheet"].assessments.forms[0].options
        assert (first["mitigation"].value(), first["failure"].value()) == ("prune", "possible")
        assert second["mitigation"].value() == "remove"

    def test_several_assessments_and_an_empty_row(self, inspector, tree, play_area):
        empty = {"assessments-2-part": "", "assessments-2-time_frame_years": 1}
        data = sheet(row(0, play_area), row(1, play_area, part="limb"), empty)
        send(inspector, tree, data)
        assert Inspection.objects.get().assessments.count() == 2

    def test_a_row_left_out_is_not_stored_however_broken(self, inspector, tree, play_area):
        out = row(1, play_area, failure="", DELETE="on")
        send(inspector, tree, sheet(row(0, play_area), out))
        assert Inspection.objects.get().assessments.count() == 1

    def test_the_same_sheet_twice_stores_once(self, inspector, tree, play_area):
        data = sheet(row(0, play_area))
        first, again = send(inspector, tree, data), send(inspector, tree, data)
        assert first.url == again.url
        assert Inspection.objects.count() == 1

    @pytest.mark.parametrize(
        ("typed", "units", "cm"),
        [("14 in", "metric", 35.56), ("36 cm", "us", 36.0), ("20", "us", 50.8), ("20", "metric", 20.0)],
    )
    def test_sizes_in_any_unit(self, inspector, tree, typed, units, cm):
        inspector.cookies["units"] = units
        send(inspector, tree, sheet(dbh_cm=typed))
        assert Inspection.objects.get().dbh_cm == pytest.approx(cm)

    def test_findings_with_their_figures(self, inspector, tree):
        girdling = [kind.name for kind in KINDS["roots"]].index("girdling roots")
        shell = [kind.name for kind in KINDS["trunk"]].index("decay inside")
        send(
            inspector,
            tree,
            sheet(
                **{
                    f"part-0-found_{girdling}": "on",
                    f"part-0-figure_{girdling}": "45",
                    "part-0-remark": "north side",
                    f"part-2-figure_{shell}": "4 in",
                    "part-2-other": "old cable",
                }
            ),
        )
        found = Inspection.objects.get().defects.order_by("part", "kind")
        assert list(found.values_list("part", "kind", "value", "unit", "note")) == [
            ("roots", "girdling roots", 45.0, "%", "north side"),
            ("trunk", "decay inside", 10.16, "cm", ""),
            ("trunk", "old cable", None, "", ""),
        ]

    def test_says_when_nothing_was_rated(self, inspector, tree):
        answer = send(inspector, tree, sheet(), follow=True)
        assert "Nothing was rated, so the tree keeps the rating it had." in answer.content.decode()


class TestFaults:
    @pytest.mark.parametrize(
        ("picks", "words"),
        [
            ({"impact": "low"}, "The suggestion is high; say why it does not hold here."),
            ({"failure": ""}, "Pick the likelihood of failure."),
            ({"distance_m": "300 m"}, "300 m is out of range; give 0 m to 200 m."),
            (
                {"option-0-residual_rating": "low"},
                "A residual rating of low needs the mitigation that leads to it; choose one.",
            ),
        ],
    )
    def test_of_an_assessment(self, inspector, tree, play_area, picks, words):
        answer = send(inspector, tree, sheet(row(0, play_area, **picks)))
        assert faults(answer) == [words]
        assert not Inspection.objects.exists()

    @pytest.mark.parametrize(
        ("facts", "words"),
        [
            ({"condition": ""}, "Pick the condition of the tree."),
            ({"dbh_cm": "9 m"}, "9 m is out of range; give 0.1 cm to 500 cm."),
            ({"part-0-figure_1": "120"}, "Ensure this value is less than or equal to 100."),
            ({"dieback_pct": "101"}, "Ensure this value is less than or equal to 100."),
        ],
    )
    def test_of_the_look(self, inspector, tree, facts, words):
        assert faults(send(inspector, tree, sheet(**facts))) == [words]

    def test_of_the_date(self, inspector, tree):
        (fault,) = faults(send(inspector, tree, sheet(observed_at="2999-01-01T10:00")))
        assert "in the future" in fault

    def test_a_target_of_another_park(self, inspector, tree):
        (fault,) = faults(send(inspector, tree, sheet(row(0, TargetFactory()))))
        assert "not one of the available choices" in fault

    def test_a_sheet_without_its_count_of_rows(self, inspector, tree):
        data = sheet()
        del data["assessments-TOTAL_FORMS"]
        assert send(inspector, tree, data).status_code == 200
        assert not Inspection.objects.exists()

    def test_what_was_typed_stands_again(self, inspector, tree, play_area):
        answer = send(inspector, tree, sheet(row(0, play_area, failure=""), note="hollow sound"))
        html = answer.content.decode()
        assert "hollow sound" in html
        assert "splitting at the included bark" in html


class TestRows:
    def test_another_row_keeps_what_was_typed_and_complains_of_nothing(self, inspector, tree, play_area):
        answer = send(inspector, tree, sheet(row(0, play_area, failure=""), add="yes", condition=""))
        forms = answer.context["sheet"].assessments.forms
        assert len(forms) == 2
        assert forms[0]["failure_mode"].value() == "splitting at the included bark"
        assert faults(answer) == []
        assert not Inspection.objects.exists()

    def test_shows_what_the_picks_lead_to_without_a_script(self, inspector, tree, play_area):
        answer = send(inspector, tree, sheet(row(0, play_area), check="yes"))
        assert answer.context["sheet"].rows()[0].outcome["rated"].rating.value == "high"
        assert not Inspection.objects.exists()

    def test_no_more_than_twelve(self, inspector, tree, play_area):
        answer = send(inspector, tree, sheet(*[row(n, play_area) for n in range(12)], add="yes"))
        assert len(answer.context["sheet"].assessments.forms) == 12
        assert 'name="add"' not in answer.content.decode()

    def test_a_target_met_on_the_walk_is_kept_at_once(self, inspector, tree):
        new = {"target-name": "old bench", "target-kind": "seating", "target-occupancy": "frequent"}
        answer = send(inspector, tree, sheet({"assessments-0-part": "limb"}, add_target="yes", **new))
        target = Target.objects.get(park=tree.park)
        (form,) = answer.context["sheet"].assessments.forms
        assert list(form.fields["target"].queryset) == [target]
        assert form["part"].value() == "limb"
        assert faults(answer) == []

    def test_a_target_without_a_name_is_told(self, inspector, tree):
        answer = send(inspector, tree, sheet(add_target="yes"))
        assert answer.context["sheet"].target.errors["name"]
        assert not Target.objects.exists()


class TestPreview:
    def ask(self, client: Client, tree: Tree, values: dict[str, Any]) -> str:
        url = reverse("hazards:preview", args=[tree.tag])
        return client.get(url, {"prefix": "assessments-3", **values}).content.decode()

    def test_suggests_from_target_and_exposure(self, inspector, tree, play_area):
        html = self.ask(inspector, tree, row(3, play_area, exposure="partly protected", failure="", consequences=""))
        assert "Suggested likelihood of impact: <strong>medium</strong>" in html

    def test_goes_through_both_tables(self, inspector, tree, play_area):
        html = self.ask(inspector, tree, row(3, play_area))
        assert "rating--high" in html

    def test_asks_for_action_on_an_imminent_failure(self, inspector, tree, play_area):
        assert "keep people out" in self.ask(inspector, tree, row(3, play_area, failure="imminent"))

    def test_warns_of_a_target_out_of_reach(self, inspector, tree, play_area):
        assert "beyond the reach" in self.ask(inspector, tree, row(3, play_area, distance_m="16 m"))
        assert "beyond the reach" not in self.ask(inspector, tree, row(3, play_area, distance_m="14 m"))

    def test_of_nothing_yet(self, inspector, tree):
        assert "the rating shows here" in self.ask(inspector, tree, {})


class TestCorrecting:
    @pytest.fixture
    def seen(self, tree, play_area) -> Inspection:
        found = DefectFound("trunk", "decay inside", 10.0, "cm", "by mallet"), DefectFound("limb", "old cable")
        return inspect(tree, pick(play_area, **HIGH), defects=found, dbh_cm=35.123456, note="first look")

    def as_shown(self, client: Client, seen: Inspection) -> dict[str, Any]:
        """What a browser would send back of the page, untouched."""
        shown = client.get(reverse("hazards:correct", args=[seen.pk])).context["sheet"]
        data = {"assessments-TOTAL_FORMS": len(shown.assessments.forms), "assessments-INITIAL_FORMS": 0}
        for form in shown.checked():
            for field in form:
                value = field.value()
                if value not in (None, False, "", []):
                    data[field.html_name] = (
                        value.strftime("%Y-%m-%dT%H:%M") if isinstance(value, dt.datetime) else value
                    )
        return data

    def test_starts_from_what_was_recorded(self, inspector, seen):
        inspector.post(reverse("hazards:correct", args=[seen.pk]), self.as_shown(inspector, seen))
        right = Inspection.objects.get(supersedes=seen)
        for name in ("level", "condition", "dbh_cm", "note", "observed_at"):
            assert getattr(right, name) == getattr(seen, name), name
        for name in ("part", "failure_mode", "target", "failure", "impact", "consequences", "occupancy", "rating"):
            assert getattr(right.assessments.get(), name) == getattr(seen.assessments.get(), name), name
        assert set(right.defects.values_list("part", "kind", "value")) == set(
            seen.defects.values_list("part", "kind", "value")
        )

    def test_takes_the_place_of_the_first(self, inspector, seen):
        data = {**self.as_shown(inspector, seen), "assessments-0-failure": "improbable"}
        inspector.post(reverse("hazards:correct", args=[seen.pk]), data)
        assert Standing.objects.get(tree=seen.tree).rating == "low"
        assert RecordEntry.objects.filter(tree=seen.tree).first().verb == "corrected an inspection"

    def test_only_once(self, inspector, seen):
        data = self.as_shown(inspector, seen)
        inspector.post(reverse("hazards:correct", args=[seen.pk]), data)
        answer = inspector.post(reverse("hazards:correct", args=[seen.pk]), {**data, "id": str(UUID(int=7))})
        assert faults(answer) == ["This inspection was corrected before; correct its latest correction instead."]


class TestPhotos:
    def test_come_with_their_inspection_and_without_what_the_camera_wrote(self, inspector, tree):
        exif = Image.Exif()
        exif[0x010F] = "Camera of somebody"
        send(inspector, tree, sheet(photos=[jpeg(exif=exif), jpeg("lime.jpg", quality=20)]))
        photos = Photo.objects.filter(tree=tree, about=Inspection.objects.get().pk)
        assert photos.count() == 2
        for photo in photos:
            with Image.open(photo.image) as kept:
                assert not kept.getexif()

    def test_what_is_no_photo_is_told_and_nothing_is_stored(self, inspector, tree):
        answer = send(inspector, tree, sheet(photos=[jpeg(), SimpleUploadedFile("tree.jpg", b"not a picture")]))
        (fault,) = faults(answer)
        assert fault.startswith("tree.jpg: ")
        assert not Inspection.objects.exists()
        assert not Photo.objects.exists()

    def test_too_many_at_once(self, inspector, tree):
        (fault,) = faults(send(inspector, tree, sheet(photos=[jpeg(f"{n}.jpg") for n in range(9)])))
        assert fault == "9 photos are too many at once; choose at most 8."
