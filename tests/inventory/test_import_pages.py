"""An import in the browser, page by page."""

import csv
import io
from pathlib import Path

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from inventory.access import Role
from inventory.importing.run import Source
from inventory.models import ColumnMapping, ImportRun, Park, RunState, Tree
from inventory.tasks import import_uploaded
from tests.factories import ParkFactory

pytestmark = pytest.mark.django_db
TABLE = """\
Nr,Area,Species,DBH (cm),Status,Lat,Lon,Remarks
A1,Ropewalk,Acer rubrum,30,Alive,45.4,-40.2,
A2,Ropewalk,Tilia cordata,20-30,Dead,45.4,-40.2,
A3,Ropewalk,,50,Stump,45.4,-40.2,
A4,Ropewalk,Acer rubrum,900,Alive,45.4,-40.2,
A5,Ropewalk,Acer rubrum,=1+1,Alive,45.4,-40.2,
"""


@pytest.fixture
def client(as_role):
    return as_role(Role.MANAGER)


def upload(client, content: str | bytes = TABLE, name: str = "trees.csv", **fields):
    file = SimpleUploadedFile(name, content.encode() if isinstance(content, str) else content)
    return client.post(reverse("inventory:imports"), {"file": file, **fields})


def page(name: str, run: ImportRun | None = None) -> str:
    return reverse(f"inventory:import_{name}", args=[(run or ImportRun.objects.get()).pk])


def confirmed(client, **changes: str) -> dict[str, str]:
    """What the columns page sends when its selects are left as they are, but for the changes."""
    form = client.get(page("columns")).context["form"]
    return {name: str(form[name].value() or "") for name in form.fields} | changes


def text(response) -> str:
    return response.content.decode()


def test_a_file_sent_in_leads_to_its_columns(client):
    response = upload(client)
    run = ImportRun.objects.get()
    assert response["Location"] == page("columns", run)
    assert (run.state, run.file_name, run.progress_total) == (RunState.UPLOADED, "trees.csv", 5)
    assert len(run.sha256) == 64


def test_the_name_of_the_upload_does_not_reach_the_disk(client):
    upload(client, name="../../trees.csv")
    run = ImportRun.objects.get()
    assert run.file_name == "trees.csv"
    assert "trees" not in Path(run.file.path).name


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (b"", "The file is empty."),
        (b"\x00\x01\x02\x03", "not a table"),
        (b"PK\x03\x04", "cannot be read"),
        (b"tag,dbh\n", "no rows under them"),
    ],
)
def test_a_file_that_cannot_be_read_gets_a_sentence_and_is_not_kept(client, settings, content, words):
    response = upload(client, content)
    assert response.status_code == 200
    assert words in text(response)
    assert not ImportRun.objects.exists()
    assert not list(Path(settings.MEDIA_ROOT).rglob("*.*")) + list(Path(settings.MEDIA_ROOT).glob("imports/*"))


def test_a_file_that_is_too_large_gets_a_sentence(client, settings):
    settings.IMPORT_MAX_BYTES = 100
    assert "is the most" in text(upload(client))
    assert not ImportRun.objects.exists()


def test_the_columns_are_shown_as_guessed_with_their_first_values(client):
    upload(client)
    response = client.get(page("columns"))
    form = response.context["form"]
    assert [form[role].value() for role in ("tag", "park", "botanical", "dbh", "dbh_unit", "status", "latitude")] == [
        "Nr", "Area", "Species", "DBH (cm)", "cm", "Status", "Lat",
    ]  # fmt: skip
    assert "20-30" in text(response)


def test_a_guess_that_could_be_otherwise_is_put_to_the_reader(client):
    upload(client, TABLE.replace("DBH (cm)", "DBH"))
    assert "names no unit" in text(client.get(page("columns")))


def test_a_confirmed_mapping_is_remembered_for_the_next_file_of_these_columns(client):
    upload(client)
    response = client.post(page("columns"), confirmed(client, dbh_unit="mm"))
    assert response["Location"] == page("preview")
    assert ColumnMapping.objects.get().mapping["units"]["dbh"] == "mm"
    upload(client)
    second = ImportRun.objects.order_by("pk").last()
    assert client.get(page("columns", second)).context["form"]["dbh_unit"].value() == "mm"


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"longitude": ""}, "A position needs both its columns"),
        ({"x": "Lat", "y": "Lon", "latitude": "", "longitude": ""}, "EPSG code"),
        ({"epsg": "999999"}, "not a known coordinate system"),
        ({"dbh": "Thickness"}, "Select a valid choice"),
    ],
)
def test_columns_that_do_not_make_sense_are_refused_in_a_sentence(client, changes, words):
    upload(client)
    response = client.post(page("columns"), confirmed(client, **changes))
    assert response.status_code == 200
    assert words in text(response)


def test_words_of_the_status_that_mean_nothing_here_can_be_translated(client):
    upload(client, TABLE.replace("Dead", "Kaputt"))
    form = client.get(page("columns")).context["form"]
    assert form.words == ["Kaputt"]
    client.post(page("columns"), confirmed(client, word_0="dead"))
    client.post(page("preview"))
    assert Tree.objects.get(tag="A2").is_dead


def test_the_preview_shows_the_first_rows_the_counts_and_the_problems_and_keeps_nothing(client):
    upload(client)
    client.post(page("columns"), confirmed(client))
    response = client.get(page("preview"))
    assert [tile["figure"] for tile in response.context["tiles"]] == ["5", "2", "0", "0", "1", "2"]
    assert "beyond any tree (500 cm)" in text(response)
    assert "Import 5 rows" in text(response)
    assert not Tree.objects.exists()
    assert not Park.objects.exists()
    assert ImportRun.objects.get().state == RunState.UPLOADED


def test_the_preview_sends_a_mapping_that_lacks_something_back_to_the_columns(client):
    upload(client, "Tag,Easting,Northing\nA1,430000,5800000\n")
    response = client.get(page("preview"), follow=True)
    assert response.redirect_chain[0][0] == page("columns")
    assert "EPSG code" in text(response)


@pytest.fixture
def done(client) -> ImportRun:
    upload(client)
    client.post(page("columns"), confirmed(client))
    client.post(page("preview"))
    return ImportRun.objects.get()


def test_sending_the_preview_imports_in_the_background(client, done):
    assert (done.state, done.rows, done.imported, done.sites, done.refused) == (RunState.DONE, 5, 2, 1, 2)
    assert Tree.objects.get(tag="A2").is_dead


def test_the_result_shows_counts_and_refused_rows(client, done):
    shown = text(client.get(page("run", done)))
    assert "What became of 5 rows" in shown
    assert "beyond any tree (500 cm)" in shown
    assert "Stop this import" not in shown


def test_the_refused_rows_as_csv_start_no_formula(client, done):
    response = client.get(page("refusals", done))
    rows = list(csv.reader(io.StringIO(response.getvalue().decode("utf-8-sig"))))
    assert rows[0] == ["row", "column", "value", "reason"]
    assert [row[:3] for row in rows[1:]] == [["5", "DBH (cm)", "900"], ["6", "DBH (cm)", "'=1+1"]]


def test_the_record_names_who_imported(client, done):
    entry = done.__class__.objects.get().by
    assert entry.username == "manager"


def test_an_import_that_was_sent_is_not_sent_again(client, done):
    client.post(page("preview", done))
    assert Tree.objects.count() == 2
    assert client.get(page("columns", done))["Location"] == page("run", done)


def test_one_park_for_the_whole_file(client):
    park = ParkFactory(code="DOCK")
    upload(client, park=park.pk)
    client.post(page("columns"), confirmed(client))
    client.post(page("preview"))
    assert set(Tree.objects.values_list("park", flat=True)) == {park.pk}


@pytest.fixture
def running(client) -> ImportRun:
    upload(client)
    ImportRun.objects.update(state=RunState.RUNNING, progress_done=2)
    return ImportRun.objects.get()


def test_a_running_import_shows_how_far_it_is_and_asks_again(client, running):
    shown = text(client.get(page("run", running)))
    assert "2 of 5 rows" in shown
    assert f'hx-get="{page("progress", running)}"' in shown
    assert '<noscript><meta http-equiv="refresh"' in shown
    assert "HX-Refresh" not in client.get(page("progress", running))


def test_the_progress_of_an_ended_import_loads_the_page_again(client, done):
    assert client.get(page("progress", done))["HX-Refresh"] == "true"


def test_a_running_import_can_be_stopped(client, running):
    response = client.post(page("cancel", running), follow=True)
    assert "is stopped" in text(response)
    assert ImportRun.objects.get().state == RunState.CANCELLED


def test_an_ended_import_is_not_stopped(client, done):
    assert "had ended already" in text(client.post(page("cancel", done), follow=True))
    assert ImportRun.objects.get().state == RunState.DONE


def test_a_file_that_fails_in_the_background_says_why_on_its_page(client, manager):
    upload(client)
    run = ImportRun.objects.get()
    ImportRun.objects.update(state=RunState.QUEUED)
    Path(run.file.path).write_text("tag,dbh\n")
    import_uploaded.call(run.pk, manager.pk)
    run.refresh_from_db()
    assert run.state == RunState.FAILED
    assert "no rows under them" in text(client.get(page("run", run)))


def test_a_run_is_taken_up_once(client, manager, done):
    import_uploaded.call(done.pk, manager.pk)
    assert ImportRun.objects.get().imported == 2


def test_the_list_of_imports(client, done):
    shown = text(client.get(reverse("inventory:imports")))
    assert "trees.csv" in shown
    assert "Done" in shown


def test_the_pages_look_at_the_top_of_the_file_only(tmp_path):
    path = tmp_path / "trees.csv"
    path.write_text("tag\n" + "".join(f"A{n}\n" for n in range(100)))
    assert Source.of(path, first=10).survey.rows == 10
