"""Is every removed tree promised back?"""

from typing import Any

from django.core.management.base import BaseCommand
from django.utils import timezone

from inventory.models import Tree
from replanting.ledger import ledger, owed_by_another_task, unpromised
from replanting.models import LedgerLine


class Command(BaseCommand):
    help = "Exit 0 and say the counts when every removed tree has its replacement task, 1 and name the trees when not."

    def handle(self, *args: Any, **options: Any) -> None:
        missing = list(unpromised().select_related("park"))
        if missing:
            for tree in missing:
                self.stderr.write(
                    f"{tree.tag} in {tree.park} was removed on {tree.removed_on} without a replacement task."
                )
            self.stderr.write(f"{len(missing)} removed trees have no replacement task; open one for each.")
            raise SystemExit(1)
        if off := [line for line in LedgerLine.objects.select_related("park") if not line.balances]:
            self.stderr.write("\n".join(f"The ledger is off: {line}." for line in off))
            raise SystemExit(1)
        self.stdout.write(self._counts())

    def _counts(self) -> str:
        book = ledger(timezone.localdate())
        return (
            f"Every removed tree has its replacement task: {Tree.objects.removed().count()} removed trees, "
            f"{owed_by_another_task().count()} of them young ones owed by the task they were planted for. "
            f"Owed {book.owed} = waiting {book.waiting} + planted {book.planted} + established {book.established} "
            f"+ waived {book.waived}; {book.overdue} overdue, {book.failures} failures so far."
        )
