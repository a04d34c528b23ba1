"""The page on which a city sets how many are owed, and how soon."""

import re

import pytest

from inventory.access import Role
from replanting.city_policy import current
from replanting.models import ReplantingPolicy
from replanting.owed import CLASSES

pytestmark = pytest.mark.django_db
PAGE = "/replanting/policy/"


def shown(client, begin: str = "") -> dict[str, str]:
    """What the page's form would send as it stands."""
    html = client.get(PAGE, {"begin": begin}).content.decode()
    form = html.split('<form method="post" class="form"')[1].split("</form>")[0]
    found = {}
    for field in re.findall(r"<input[^>]*>", form):
        name, value = re.search(r'name="([^"]+)"', field)[1], re.search(r'value="([^"]*)"', field)
        if "checkbox" not in field or " checked" in field:
            found[name] = value[1] if value else ""
    for name, options in re.findall(r'<select name="([^"]+)".*?>(.*?)</select>', form, re.S):
        found[name] = re.search(r'value="([^"]*)" selected', options)[1]
    return found


def test_the_rows_in_print_become_the_citys_with_its_own_numbers(as_role):
    client = as_role(Role.MANAGER)
    sent = {**shown(client, CLASSES), "section": "§ 12", "rows-0-from_cm": "2.5 in", "plant_within_months": "18"}
    assert client.post(PAGE, sent).status_code == 302
    policy = current()
    assert (policy.rule.form, policy.rule.section, policy.plant_within_months) == (CLASSES, "§ 12", 18)
    assert [(row.from_cm, row.amount) for row in policy.rule.rows] == [(6.35, 1), (33.02, 2), (58.42, 3), (83.82, 4)]


def test_a_page_that_somebody_overtook_changes_nothing(as_role):
    client = as_role(Role.MANAGER)
    late = {**shown(client), "plant_within_months": "24"}
    client.post(PAGE, {**shown(client), "plant_within_months": "18"})
    html = client.post(PAGE, late).content.decode()
    assert "was changed while this page was open" in html
    assert ReplantingPolicy.objects.get().plant_within_months == 18


def test_half_a_row_is_said(as_role):
    client = as_role(Role.MANAGER)
    html = client.post(PAGE, {**shown(client, CLASSES), "rows-1-amount": ""}).content.decode()
    assert "A row has a diameter and an amount" in html
    assert not ReplantingPolicy.objects.exists()


def test_a_planner_reads_what_holds_and_sets_nothing(as_role):
    client = as_role(Role.PLANNER)
    html = client.get(PAGE).content.decode()
    assert "Within 12 months of the removal" in html
    assert "Set the policy</button>" not in html
    assert client.post(PAGE, {}).status_code == 403
