"""What is not accepted, said so that a machine can sort it and a person can cure it."""


class CurableError(Exception):
    """The base of the domain's errors about what somebody sent or kept.

    `code` is stable and for machines; `message` says what is the matter and `cure` what helps, both for people. Each
    kind lists its codes.
    """

    def __init__(self, code: str, message: str, cure: str) -> None:
        super().__init__(message)
        self.code = code
        self.message = message
        self.cure = cure
