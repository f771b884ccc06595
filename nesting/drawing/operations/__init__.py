"""Pictures of sewing steps, drawn from the works as they lie before and after each operation."""

from nesting.drawing.operations.step_view import LEGEND, VIEWS, step_drawing

__all__ = ["LEGEND", "VIEWS", "step_drawing"]
