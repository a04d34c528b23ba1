"""Made-up parks, trees and people for tests."""

import datetime as dt

import factory
from django.contrib.auth.models import User
from django.db import transaction
from factory.django import DjangoModelFactory

from inventory.access import Role
from inventory.models import Park, Species, Tree, TreeStatus
from inventory.workflow import give_role
from replanting.models import ReplacementTask

TODAY = dt.date(2026, 6, 1)


def user_with(role: Role, username: str = "") -> User:
    user = User.objects.create_user(username or role.value.replace(" ", "-"), password="a long enough one")
    give_role(user, role)
    return user


class ParkFactory(DjangoModelFactory):
    class Meta:
        model = Park
        django_get_or_create = ("code",)

    code = factory.Sequence(lambda n: f"P{n}")
    name = factory.LazyAttribute(lambda park: f"Park {park.code}")


class SpeciesFactory(DjangoModelFactory):
    class Meta:
        model = Species
        django_get_or_create = ("botanical",)

    botanical = "Quercus rubra"
    common = "northern red oak"
    genus = factory.LazyAttribute(lambda species: species.botanical.split()[0])
    family = "Fagaceae"
    jenkins_group = "hard maple/oak/hickory/beech"
    porosity = "ring"


class TreeFactory(DjangoModelFactory):
    """A standing tree; ``removed=True`` makes a removed one with its task."""

    class Meta:
        model = Tree
        skip_postgeneration_save = True

    class Params:
        removed = factory.Trait(status=TreeStatus.REMOVED, removed_on=TODAY)

    @classmethod
    def _generate(cls, strategy, params):
        # A removed tree and its task come in one transaction: the database insists.
        with transaction.atomic():
            return super()._generate(strategy, params)

    tag = factory.Sequence(lambda n: f"T{n:05d}")
    park = factory.SubFactory(ParkFactory)
    species = factory.SubFactory(SpeciesFactory)
    dbh_cm = 40.0
    height_m = 15.0
    crown_spread_m = 9.0

    @factory.post_generation
    def task(tree, create, extracted, **kwargs):
        if create and tree.status == TreeStatus.REMOVED:
            due_on = tree.removed_on + dt.timedelta(days=365)
            ReplacementTask.objects.create(removed_tree=tree, park=tree.park, opened_on=tree.removed_on, due_on=due_on)
