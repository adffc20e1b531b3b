from . import fish as fish
from .answers.calibrate import CalibrateAnswer as CalibrateAnswer
from .answers.calibrate import calibrate as calibrate
from .answers.follow import FollowAnswer as FollowAnswer
from .answers.rig import Rig as Rig
from .answers.rig import rig as rig
from .answers.rig import rigs as rigs
from .answers.spread import spread as spread
from .answers.steady import LetOutTable as LetOutTable
from .answers.steady import LineShape as LineShape
from .answers.steady import RigAnswer as RigAnswer
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
from .sky_answers import sun as sun
from .sky_answers import thermocline as thermocline
from .spreads.answer import SpreadAnswer as SpreadAnswer

__version__: str
