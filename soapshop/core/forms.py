"""Forms of the workshop's own pages."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

from django import forms
from django.contrib.auth.forms import AuthenticationForm
from django.core.exceptions import ValidationError
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from soapshop.core.fields import EMPTY, NumberField, PercentField, PlainTextField, WholeField
from soapshop.core.models import Region, Role, Units
from soapshop.core.services.workshop import HIGHEST_STOP, known_time_zones

LONGEST_PASSWORD = 128
SHORTEST_PASSWORD_HINT = _("At least 10 characters; four or five words are easy to remember.")


class PasswordField(forms.CharField):
    """A password as typed, blanks and all. `current=True` for one that exists already."""

    default_error_messages = {"required": EMPTY}

    def __init__(self, *, current: bool = False, **kwargs: Any) -> None:
        autocomplete = "current-password" if current else "new-password"
        widget = forms.PasswordInput(attrs={"autocomplete": autocomplete})
        super().__init__(max_length=LONGEST_PASSWORD, strip=False, widget=widget, **kwargs)


class UsernameField(PlainTextField):
    """The name that someone signs in with."""

    def __init__(self, **kwargs: Any) -> None:
        kwargs.setdefault("help_text", _("To sign in with: letters, figures and @ . + - _"))
        super().__init__(max_length=150, **kwargs)
        self.widget.attrs |= {"autocapitalize": "none", "autocomplete": "username", "spellcheck": "false"}


class NewPasswordForm(forms.Form):
    """A password, typed twice."""

    password = PasswordField(label=_("Password"), help_text=SHORTEST_PASSWORD_HINT)
    password_again = PasswordField(label=_("Password again"))

    def clean(self) -> dict[str, Any]:
        data = super().clean() or self.cleaned_data
        once, again = data.get("password"), data.get("password_again")
        if once and again and once != again:
            self.add_error("password_again", gettext("The two passwords differ."))
        return data

    def new_password(self) -> str:
        return str(self.cleaned_data["password"])


class SignInForm(AuthenticationForm):
    """Django's own, in our words."""

    error_messages = {
        "invalid_login": _("That name and password do not belong together. Mind capital letters."),
        "inactive": _("This account has been switched off. Ask an owner of the workshop."),
    }

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["username"].label = _("Sign-in name")
        for field in self.fields.values():
            field.error_messages["required"] = EMPTY


class OwnPasswordForm(NewPasswordForm):
    """Someone's own new password, with the one they have as proof."""

    current = PasswordField(label=_("The password you have"), current=True)
    field_order = ["current", "password", "password_again"]

    def __init__(self, *args: Any, user: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.user = user
        self.fields["password"].label = _("The new password")
        self.fields["password_again"].label = _("The new password again")

    def clean_current(self) -> str:
        current: str = self.cleaned_data["current"]
        if not self.user.check_password(current):
            raise ValidationError(gettext("This is not the password you have."))
        return current


class PersonForm(forms.Form):
    """Name, role and whether someone may sign in."""

    name = PlainTextField(
        label=_("Name"), max_length=80, required=False, help_text=_("As the others call them.")
    )
    role = forms.ChoiceField(
        label=_("Role"),
        choices=Role.choices,
        widget=forms.RadioSelect,
        help_text=_("Owners run the workshop, makers work in it, viewers look."),
    )
    is_active = forms.BooleanField(label=_("May sign in"), required=False)


class NewPersonForm(NewPasswordForm):
    """An account with its first password."""

    username = UsernameField(label=_("Sign-in name"))
    name = PlainTextField(
        label=_("Name"), max_length=80, required=False, help_text=_("As the others call them.")
    )
    role = forms.ChoiceField(
        label=_("Role"),
        choices=Role.choices,
        initial=Role.MAKER,
        widget=forms.RadioSelect,
        help_text=_("Owners run the workshop, makers work in it, viewers look."),
    )
    field_order = ["username", "name", "role", "password", "password_again"]

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["username"].widget.attrs["autocomplete"] = "off"
        self.fields["password"].label = _("First password")
        self.fields["password_again"].label = _("First password again")


class SetupForm(NewPasswordForm):
    """The first visit."""

    code = PlainTextField(
        label=_("Set-up code"),
        max_length=40,
        help_text=_("The server printed it when it was started."),
    )
    workshop_name = PlainTextField(label=_("Name of the workshop"), max_length=80)
    username = UsernameField(label=_("Your sign-in name"))
    name = PlainTextField(label=_("Your name"), max_length=80, required=False)
    field_order = ["code", "workshop_name", "username", "name", "password", "password_again"]

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["code"].widget.attrs |= {"autocomplete": "off", "autocapitalize": "characters"}


class DaysField(WholeField):
    """Days from `least` to two years."""

    def __init__(self, *, least: int = 1, most: int = 730, **kwargs: Any) -> None:
        super().__init__(min_value=least, max_value=most, **kwargs)


class SettingsForm(forms.Form):
    """All settings of the workshop."""

    name = PlainTextField(label=_("Name of the workshop"), max_length=80)
    address = PlainTextField(
        label=_("Address"),
        max_length=400,
        lines=3,
        required=False,
        help_text=_("As it shall stand on paper and labels."),
    )
    label_region = forms.ChoiceField(
        label=_("You sell in"),
        choices=Region.choices,
        help_text=_("Whose rules for labels you follow."),
    )
    currency = PlainTextField(
        label=_("Currency"), max_length=3, help_text=_("Three letters, such as EUR, GBP or USD.")
    )
    units = forms.ChoiceField(
        label=_("Weights are shown in"), choices=Units.choices, widget=forms.RadioSelect
    )
    time_zone = forms.ChoiceField(label=_("Time zone"), choices=known_time_zones)
    scale_step = NumberField(
        label=_("Step of the scale"),
        min=Decimal("0.01"),
        max=100,
        help_text=_("The smallest that it shows."),
    )
    fine_scale_step = NumberField(
        label=_("Step of a finer scale"),
        min=Decimal("0.01"),
        max=100,
        required=False,
        help_text=_("For fragrance and colour."),
    )
    fine_scale_up_to = NumberField(
        label=_("Weigh on it up to"),
        min=1,
        max=20_000,
        required=False,
        help_text=_("More goes on the first one."),
    )
    cure_days = DaysField(label=_("Most soap"), help_text=_("From the cut."))
    cure_days_olive = DaysField(
        label=_("Very high in olive oil"),
        # xgettext:no-python-format
        help_text=_("70 % of the fats and more."),
    )
    cure_days_potash = DaysField(label=_("Potash soap"), help_text=_("Made mainly with potassium hydroxide."))
    turn_every = DaysField(least=0, most=90, label=_("Turn the bars every"), help_text=_("0 for never."))
    weigh_in_every = DaysField(least=0, most=90, label=_("Weigh in every"), help_text=_("0 for never."))
    expiry_warning_days = DaysField(
        label=_("Tell of a best-before"),
        help_text=_("So many days ahead, on Today."),
    )
    watch_from = PercentField(
        label=_("Say 'watch' from"),
        max=HIGHEST_STOP,
        help_text=_("Chance, in per cent, that the batch is lye-heavy."),
    )
    stop_from = PercentField(
        label=_("Say 'stop' above"),
        max=HIGHEST_STOP,
        help_text=_("Chance, in per cent, that the batch is lye-heavy. Only an owner may pour beyond it."),
    )

    def clean_currency(self) -> str:
        return str(self.cleaned_data["currency"]).upper()
