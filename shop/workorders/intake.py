"""What is asked when somebody calls, in the order in which it is asked: who, which machine, and then at once whether anybody is hurt."""

HURT = "hurt"
QUESTIONS: tuple[tuple[str, str], ...] = (
    (HURT, "Is anybody hurt, or may oil have gone through the skin?"),
    ("hours_said", "Hours now, as said"),
    ("safe", "Does it stand safely?"),
    ("moves", "Can it move?"),
    ("started", "When did it start?"),
    ("manner", "Cold or hot, suddenly or slowly?"),
    ("direction", "One direction or both?"),
    ("load", "Loaded or empty?"),
    ("noise", "Any noise?"),
    ("lamps", "Warning lamps and fault codes, as shown"),
    ("last_month", "What was done in the last month: top-up, filter, hose, another shop?"),
    ("oil", "Oil level, colour, foam, smell, leak"),
    ("deadline", "By when is it needed?"),
)
HOSPITAL = (
    "Oil under the skin is a surgical emergency: to hospital now, painful or not. Tell them the fluid, the pressure and the time. "
    "The machine stays as it is until everybody is looked after."
)
NO_TOWING = (
    "Do not tow or push it without the maker's way of opening the bypass: with the bypass open nothing brakes the machine, "
    "on a slope it runs away."
)


def answers_of(intake: dict) -> list[tuple[str, str]]:
    """Questions that were answered, in the order they are asked."""
    return [(question, str(intake[key])) for key, question in QUESTIONS if intake.get(key)]
