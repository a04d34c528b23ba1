"""A zero byte in an address is a bad request, not a broken query."""

import pytest

from inventory.access import Role

pytestmark = pytest.mark.django_db


@pytest.mark.parametrize("address", ["/trees/%00/", "/trees/?q=a%00b", "/hazards/?page=%00", "/reports/parks/%00/"])
def test_a_zero_byte_is_refused(as_role, address):
    assert as_role(Role.READER).get(address).status_code == 400
