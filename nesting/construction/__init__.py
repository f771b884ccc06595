"""How every window of a plan is sewn: its order of operations, and the table it begins with."""

from nesting.construction.bench_of import bench_of
from nesting.construction.sewing_order import order_of, sewing_of
from nesting.construction.windows_made import WindowFacts, window_facts

__all__ = ["WindowFacts", "bench_of", "order_of", "sewing_of", "window_facts"]
