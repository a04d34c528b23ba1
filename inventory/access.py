"""Who may do what: permissions are an enum, roles are code, and one function decides.

Roles are the names of Django groups; a person may hold several. A superuser may do everything.
"""

from collections.abc import Callable
from enum import Enum
from functools import wraps
from typing import Any

from django.contrib.auth.models import AnonymousUser, User
from django.core.exceptions import PermissionDenied
from django.http import HttpRequest, HttpResponseBase


class Permission(Enum):
    READ = "read"
    EDIT_TREE = "edit a tree"
    IMPORT_TREES = "import trees"
    INSPECT = "record an inspection"
    PROPOSE_REMOVAL = "propose a removal"
    APPROVE_REMOVAL = "approve or withdraw a removal"
    SCHEDULE_REMOVAL = "schedule a removal"
    PLAN_FELLING = "make a felling plan"
    BRIEF_CREW = "hold a job briefing"
    FELL = "report a tree felled or already down"
    CLOSE_REMOVAL = "close a removal"
    PROPOSE_MITIGATION = "propose work other than removal"
    ORDER_MITIGATION = "schedule or withdraw work other than removal"
    REPORT_MITIGATION = "report work other than removal done"
    CLOSE_AREA = "close an area"
    LIFT_CLOSURE = "open a closed area again"
    RECORD_CONCERN = "record a concern"
    DECIDE_CONCERN = "decide on a concern"
    RUN_STORM = "open or end a storm"
    RECORD_STORM = "record what a storm did"
    REPLANT = "choose species, order and plant"
    CARE = "record a care visit"
    WAIVE_REPLANTING = "waive a replacement"
    SET_POLICY = "set the city's policy"
    ADMINISTER = "correct reference data"


class Role(Enum):
    INSPECTOR = "inspector"
    CREW_LEAD = "crew lead"
    MANAGER = "manager"
    PLANNER = "planner"
    READER = "reader"
    ADMINISTRATOR = "administrator"


_P = Permission
ROLE_PERMISSIONS: dict[Role, frozenset[Permission]] = {
    Role.INSPECTOR: frozenset(
        {
            _P.READ,
            _P.EDIT_TREE,
            _P.INSPECT,
            _P.PROPOSE_REMOVAL,
            _P.PROPOSE_MITIGATION,
            _P.REPORT_MITIGATION,
            _P.CLOSE_AREA,
            _P.LIFT_CLOSURE,
            _P.RECORD_CONCERN,
            _P.DECIDE_CONCERN,
            _P.RUN_STORM,
            _P.RECORD_STORM,
            _P.CARE,
        }
    ),
    Role.CREW_LEAD: frozenset(
        {
            _P.READ,
            _P.PLAN_FELLING,
            _P.BRIEF_CREW,
            _P.FELL,
            _P.REPORT_MITIGATION,
            _P.CLOSE_AREA,
            _P.RECORD_CONCERN,
            _P.RECORD_STORM,
            _P.CARE,
        }
    ),
    Role.MANAGER: frozenset(
        {
            _P.READ,
            _P.EDIT_TREE,
            _P.IMPORT_TREES,
            _P.INSPECT,
            _P.PROPOSE_REMOVAL,
            _P.APPROVE_REMOVAL,
            _P.SCHEDULE_REMOVAL,
            _P.PLAN_FELLING,
            _P.FELL,
            _P.CLOSE_REMOVAL,
            _P.PROPOSE_MITIGATION,
            _P.ORDER_MITIGATION,
            _P.REPORT_MITIGATION,
            _P.CLOSE_AREA,
            _P.LIFT_CLOSURE,
            _P.RECORD_CONCERN,
            _P.DECIDE_CONCERN,
            _P.RUN_STORM,
            _P.RECORD_STORM,
            _P.WAIVE_REPLANTING,
            _P.SET_POLICY,
        }
    ),
    Role.PLANNER: frozenset({_P.READ, _P.RECORD_CONCERN, _P.REPLANT, _P.CARE, _P.WAIVE_REPLANTING}),
    Role.READER: frozenset({_P.READ}),
    Role.ADMINISTRATOR: frozenset({_P.READ, _P.EDIT_TREE, _P.IMPORT_TREES, _P.SET_POLICY, _P.ADMINISTER}),
}


Person = User | AnonymousUser
_KNOWN = "_hingewood_permissions"


def permissions_of(user: Person) -> frozenset[Permission]:
    """All that the user's roles allow, read once and kept on the user object for the length of the request."""
    if not user.is_active:
        return frozenset()
    if user.is_superuser:
        return frozenset(Permission)
    known: frozenset[Permission] | None = getattr(user, _KNOWN, None)
    if known is None:
        names = set(user.groups.values_list("name", flat=True))
        known = frozenset().union(*(grants for role, grants in ROLE_PERMISSIONS.items() if role.value in names))
        setattr(user, _KNOWN, known)
    return known


def allowed(user: Person, permission: Permission) -> bool:
    return permission in permissions_of(user)


View = Callable[..., HttpResponseBase]


def requires(permission: Permission, *, to_change: Permission | None = None) -> Callable[[View], View]:
    """Guard a view: ``permission`` to see it, ``to_change`` (or the same) for anything but GET and HEAD.

    The rule stands on the view as ``access_rule``; a test walks every URL and fails on a view without one.
    """

    def guard(view: View) -> View:
        @wraps(view)
        def guarded(request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponseBase:
            needed = permission if request.method in {"GET", "HEAD"} else to_change or permission
            if not allowed(request.user, needed):
                raise PermissionDenied(f"Your role may not {needed.value}.")
            return view(request, *args, **kwargs)

        guarded.access_rule = (permission, to_change or permission)  # type: ignore[attr-defined]
        return guarded

    return guard
