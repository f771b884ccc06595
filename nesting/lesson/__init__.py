"""Teaching: a handout on one heading for a class without a job, every number worked out by the program."""

from nesting.lesson.files import lesson_files
from nesting.lesson.handout import lesson

__all__ = ["lesson", "lesson_files"]
