"""The command guide: how to do the next step of a jar."""

from __future__ import annotations

from typing import Annotated

import typer

from ..diary.places import typed_again
from ..errors import InputError
from ..show.guides import Topic
from .common import At, Folder, Vessel, asked_moment, clock_of, opened, terminal_width

__all__ = ["guide"]


def guide(
    ctx: typer.Context,
    vessel: Vessel,
    on: Annotated[
        Topic | None,
        typer.Option(help="What to explain (default: the jar's next step).", show_default=False),
    ] = None,
    at: At = None,
    shelf: Folder = None,
) -> None:
    """Explain how to do a job: a stuck jar, haze, finings, ...

    Examples: bubblerate guide plum; bubblerate guide plum --on haze

    Raises
    ------
    BubbleRateError
        If there is no such diary, or a word cannot be understood.
    """
    from ..course.judgement import judge
    from ..show.guide_text import guide_lines, topic_of

    found = opened(vessel, shelf)
    asked_at = asked_moment(at, found, now=clock_of(ctx)())
    course = judge(found.diary, at=asked_at, settings=found.settings).course
    name = found.diary.vessel
    if course is None:
        raise InputError(f"{name}: nothing has been written down yet")
    topic = on or topic_of(course)
    if topic is None:
        typer.echo(f"{name}: {course.next.do}")
        first = typed_again(found.diary.path, "guide", "--on", next(iter(Topic)))
        typer.echo(f"Guides: {', '.join(Topic)}. Type {first}")
        return
    typer.echo(f"{name}: {topic}")
    typer.echo("\n".join(guide_lines(course, topic, vessel=name, width=terminal_width())))
