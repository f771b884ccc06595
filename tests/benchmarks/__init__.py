"""How well the engine does on published and made-up instances: ``python -m tests.benchmarks``.

Instances come from a folder of JSON files (see `instances`) or from what the tests carry. Each is packed
in a process of its own (`running`), its layout checked, and the figures printed and written (`figures`).
Seconds are figures here and are never asserted.
"""
