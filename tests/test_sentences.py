"""What sentences are made of."""

from diagnose.sentences import counted


def test_one_thing_and_more_are_told_as_they_are_spoken() -> None:
    sentence = "line[ was|s were] left out: nothing names what [it marks|they mark]."
    assert counted(1, sentence) == "1 line was left out: nothing names what it marks."
    assert counted(4, sentence) == "4 lines were left out: nothing names what they mark."
