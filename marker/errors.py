"""The one exception users cause: bad input, told in one sentence."""


class InputError(Exception):
    """What is wrong with a file or an option, where, and what to do about it.

    The message is one sentence for the person who typed the input. The command line prints it
    without a traceback and exits with code 1.
    """


class StillMissing(InputError):
    """What a half-written file still lacks."""
