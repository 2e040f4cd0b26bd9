"""The tables of the diagnosis hold together."""

from calcs.symptoms import CAUSES, LOOKS, SIGNS, SYMPTOMS


def test_every_name_a_table_uses_stands_in_its_own_table():
    for symptom in SYMPTOMS.values():
        assert set(symptom.first) | set(symptom.then) <= set(LOOKS)
        assert set(symptom.causes) <= set(CAUSES) and symptom.causes
    for cause in CAUSES.values():
        assert set(cause.signs) <= set(SIGNS)
        assert all(0 < chance < 1 for chance in cause.signs.values()) and cause.odds > 0
    assert {sign for look in LOOKS.values() for sign in look.shows} == set(SIGNS)
    assert all(look.minutes > 0 for look in LOOKS.values())


def test_every_cause_can_be_suspected_and_every_suspicion_has_a_sign_of_its_own():
    assert {code for symptom in SYMPTOMS.values() for code in symptom.causes} == set(CAUSES)
    assert all(max(cause.signs.values()) >= 0.8 for cause in CAUSES.values())


def test_forward_and_reverse_side_mirror_each_other():
    mirrored = {sign.replace("forward", "reverse"): chance for sign, chance in CAUSES["side_forward"].signs.items()}
    assert mirrored == CAUSES["side_reverse"].signs
