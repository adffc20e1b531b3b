"""Where a trolled lure runs, how sure that is, and what to change.

>>> import towscope as ts
>>> ts.rig("demo").let_out(depth="28 ft", speed="2 mph")
demo: let out 155 ft (142 to 170 ft, 9 in 10) for 28 ft down at 2.0 mph

The names stand in `__init__.pyi`; each is loaded when it is first used.
"""

import lazy_loader

__version__ = "0.1.0"
__getattr__, __dir__, __all__ = lazy_loader.attach_stub(__name__, __file__)
