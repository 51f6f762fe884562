"""What is unsafe or contradictory in a definition, each finding with its numbers and source.

An error is refused; a warning is something that whoever chooses the version should know.
"""

from protocols.library.findings import Finding, Level
from protocols.library.lint_moves import about_moves
from protocols.library.lint_time import about_fallow, about_watch
from protocols.library.lint_treatment import about_treatment
from protocols.library.values import Definition, Fallow, Treatment, Watch
from protocols.ruled import Protocol


def lint(found: Protocol | Definition) -> tuple[Finding, ...]:
    """Everything unsafe or contradictory about a version, errors first."""
    match found:
        case Protocol():
            findings = about_moves(found)
        case Treatment():
            findings = about_treatment(found)
        case Watch():
            findings = about_watch(found)
        case Fallow():
            findings = about_fallow(found)
        case _:
            raise TypeError(f"{type(found).__name__} is no stage that is known")
    return tuple(sorted(findings, key=lambda one: one.level is Level.WARNING))


def refused_for(found: Protocol | Definition) -> tuple[Finding, ...]:
    """Only what has to be put right before anybody may work by it."""
    return tuple(one for one in lint(found) if one.level is Level.ERROR)
