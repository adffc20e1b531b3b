from .errors import InputError as InputError
from .errors import NoAnswer as NoAnswer
from .rig_answers import LetOutTable as LetOutTable
from .rig_answers import LineShape as LineShape
from .rig_answers import Rig as Rig
from .rig_answers import RigAnswer as RigAnswer
from .rig_answers import rig as rig
from .rig_answers import rigs as rigs

__version__: str
