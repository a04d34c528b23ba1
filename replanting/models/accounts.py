"""The ledger as the database keeps it: views over the replacements, read and never written."""

from __future__ import annotations

from typing import ClassVar

from django.db import models

from inventory.models import Park
from replanting.models.tasks import ReplacementTask


class Account(models.Model):
    """A replacement in the columns of the ledger: its units stand in exactly one of the four that make up ``owed``."""

    task = models.OneToOneField(ReplacementTask, on_delete=models.DO_NOTHING, primary_key=True, related_name="account")
    park = models.ForeignKey(Park, on_delete=models.DO_NOTHING, related_name="+", help_text="that owes")
    year = models.IntegerField(help_text="of the removal")
    due_on = models.DateField()
    owed = models.IntegerField()
    open = models.IntegerField()
    planted = models.IntegerField()
    established = models.IntegerField()
    waived = models.IntegerField()
    fund = models.IntegerField(help_text="of the waived: paid into the fund")
    elsewhere = models.IntegerField(help_text="of the planted and established: in another park")
    failures = models.IntegerField()
    kept = models.IntegerField(help_text="a living tree, planted by the day")
    late = models.IntegerField(help_text="a living tree, planted after it")
    wait_days = models.IntegerField(null=True, help_text="from the removal to the first planting")

    class Meta:
        managed = False
        db_table = "replanting_account"

    def __str__(self) -> str:
        return f"account of task {self.pk}"


class LedgerLine(models.Model):
    """The accounts of one park and year of removal; ``overdue`` by the day of the database."""

    pk = models.CompositePrimaryKey("park_id", "year")
    park = models.ForeignKey(Park, on_delete=models.DO_NOTHING, related_name="+")
    year = models.IntegerField()
    owed = models.IntegerField()
    open = models.IntegerField()
    planted = models.IntegerField()
    established = models.IntegerField()
    waived = models.IntegerField()
    overdue = models.IntegerField()
    failures = models.IntegerField()
    elsewhere = models.IntegerField()
    median_wait_days = models.FloatField(null=True)

    class Meta:
        managed = False
        db_table = "replanting_ledger"
        ordering: ClassVar = ["park", "year"]

    def __str__(self) -> str:
        return f"{self.park}, {self.year}: {self.owed} owed"

    @property
    def balances(self) -> bool:
        return self.owed == self.open + self.planted + self.established + self.waived
