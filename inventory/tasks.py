"""Work that goes on after the page was sent: run by ``manage.py db_worker``."""

from pathlib import Path

from django.contrib.auth import get_user_model
from django_tasks import task

from inventory.importing.run import PROBLEMS, Cancelled, Plan, Source, completed, fail, import_file
from inventory.models import ImportRun, RunState
from inventory.record import Actor


@task()
def import_uploaded(run_id: int, user_id: int) -> None:
    """Import an uploaded file by its confirmed mapping. What is wrong with the file stands on the run's page."""
    run = ImportRun.objects.select_related("park").get(pk=run_id)
    if run.state != RunState.QUEUED:
        return
    by = Actor(get_user_model().objects.get(pk=user_id))
    try:
        source = Source.of(Path(run.file.path))
        plan = Plan(completed(source, run.mapping), run.park.code if run.park else "", Path(run.file_name).stem)
        import_file(by=by, run=run, source=source, plan=plan)
    except PROBLEMS as problem:
        fail(run, str(problem))
    except Cancelled:
        return
