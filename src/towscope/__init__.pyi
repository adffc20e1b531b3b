from . import fish as fish
from .errors import InputError as InputError
from .errors import NoAnswer as NoAnswer
from .journal_answers import Journal as Journal
from .journal_answers import open_journal as open_journal
from .journal_answers import rescue_journal as rescue_journal
from .lake_answers import Lake as Lake
from .lake_answers import LakeDepth as LakeDepth
from .lake_answers import LakeEdges as LakeEdges
from .lake_answers import LakeFacts as LakeFacts
from .lake_answers import PassPlan as PassPlan
from .lake_answers import lake as lake
from .lake_answers import lakes as lakes
from .rig_answers import LetOutTable as LetOutTable
from .rig_answers import LineShape as LineShape
from .rig_answers import Rig as Rig
from .rig_answers import RigAnswer as RigAnswer
from .rig_answers import rig as rig
from .rig_answers import rigs as rigs
from .sky_answers import sun as sun
from .sky_answers import thermocline as thermocline

__version__: str
