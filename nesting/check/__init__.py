"""Independent checks of a layout and of a written plan, with nothing taken from the code that makes them."""

from nesting.check.document_hanging import unjudged
from nesting.check.layout import check_layout, check_plan_document
from nesting.check.verdict import check_bound
from nesting.check.violation import Breach, Violation

__all__ = ["Breach", "Violation", "check_bound", "check_layout", "check_plan_document", "unjudged"]
