"""Forms about people: signing in, accounts and their roles."""

from __future__ import annotations

from typing import Any

from django import forms
from django.contrib.auth.forms import AuthenticationForm
from django.contrib.auth.models import User
from django.contrib.auth.password_validation import password_validators_help_text_html, validate_password
from django.core.exceptions import ValidationError

from inventory.access import Role

ROLE_CHOICES = [(role.value, role.value.capitalize()) for role in Role]


class SignInForm(AuthenticationForm):
    error_messages = {
        "invalid_login": "That login name and password do not belong together; try again, and mind capitals.",
        "inactive": "This account is shut; ask your administrator.",
    }

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["username"].label = "Login name"


class RolesField(forms.TypedMultipleChoiceField):
    def __init__(self) -> None:
        super().__init__(
            label="Roles",
            choices=ROLE_CHOICES,
            coerce=Role,
            required=False,
            widget=forms.CheckboxSelectMultiple,
            help_text="Without a role a person can sign in and see nothing.",
        )


class NewPasswordField(forms.CharField):
    def __init__(self, **kwargs: Any) -> None:
        super().__init__(strip=False, widget=forms.PasswordInput(attrs={"autocomplete": "new-password"}), **kwargs)


class AddPersonForm(forms.Form):
    username = forms.CharField(
        label="Login name",
        max_length=150,
        validators=[User.username_validator],
        help_text="Letters, digits and @ . + - _ only.",
        widget=forms.TextInput(attrs={"autocomplete": "off", "autocapitalize": "none"}),
    )
    first_name = forms.CharField(max_length=150, required=False)
    last_name = forms.CharField(max_length=150, required=False)
    roles = RolesField()
    password = NewPasswordField(
        label="First password",
        help_text="At least 12 characters. Hand it over in person; it should be changed at once.",
    )

    def clean_username(self) -> str:
        username: str = self.cleaned_data["username"]
        if User.objects.filter(username__iexact=username).exists():
            raise ValidationError(f"The login name {username} is taken; choose another.")
        return username

    def clean(self) -> None:
        names = {name: self.cleaned_data.get(name, "") for name in ("username", "first_name", "last_name")}
        check_password(self, "password", User(**names))


class PersonForm(forms.Form):
    """An account that exists: its roles, whether it is open, a new password."""

    roles = RolesField()
    active = forms.BooleanField(label="The account is open", required=False)
    password = NewPasswordField(
        label="New password", required=False, help_text="Only when the old one is lost: it ends all sessions."
    )

    def __init__(self, *args: Any, person: User, **kwargs: Any) -> None:
        self.person = person
        super().__init__(*args, **kwargs)

    def clean(self) -> None:
        check_password(self, "password", self.person)


class OwnPasswordForm(forms.Form):
    old_password = forms.CharField(
        label="Password until now",
        strip=False,
        widget=forms.PasswordInput(attrs={"autocomplete": "current-password"}),
    )
    password = NewPasswordField(label="New password", help_text=password_validators_help_text_html())

    def __init__(self, *args: Any, person: User, **kwargs: Any) -> None:
        self.person = person
        super().__init__(*args, **kwargs)

    def clean_old_password(self) -> str:
        old: str = self.cleaned_data["old_password"]
        if not self.person.check_password(old):
            raise ValidationError("That is not your password; type the one you signed in with.")
        return old

    def clean(self) -> None:
        check_password(self, "password", self.person)


def check_password(form: forms.Form, name: str, person: User) -> None:
    """Put the password rules' sentences on the field, when a password was given."""
    password = form.cleaned_data.get(name)
    if not password:
        return
    try:
        validate_password(password, person)
    except ValidationError as problems:
        form.add_error(name, problems)
