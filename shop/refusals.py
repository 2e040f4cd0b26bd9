"""An act that the record does not allow: why, in sentences that say how to put it right."""


class Refused(Exception):
    """Nothing was written; `sentences` say why."""

    def __init__(self, *sentences: str):
        self.sentences = list(sentences)
        super().__init__(" ".join(sentences))
