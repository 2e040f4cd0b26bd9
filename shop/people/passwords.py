"""What a password must not hold, beside Django's own rules."""

from django.core.exceptions import ValidationError

SHORTEST = 4  # signs of a name that count; a shorter one may stand in a word by chance


class NoOwnName:
    """A password that holds the name of its owner is the first that is guessed."""

    def validate(self, password, user=None):
        names = [getattr(user, field, "") or "" for field in ("username", "first_name", "last_name")]
        if any(len(name) >= SHORTEST and name.casefold() in password.casefold() for name in names):
            raise ValidationError("The password holds the person's own name: that is guessed first.")

    def get_help_text(self):
        return "Your password cannot hold your own name."
