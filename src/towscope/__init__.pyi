from . import fish as fish
from .answers.calibrate import CalibrateAnswer as CalibrateAnswer
from .answers.calibrate import calibrate as calibrate
from .answers.follow import FollowAnswer as FollowAnswer
from .answers.journal import Journal as Journal
from .answers.journal import open_journal as open_journal
from .answers.journal import rescue_journal as rescue_journal
from .answers.lake import Lake as Lake
from .answers.lake import lake as lake
from .answers.lake import lakes as lakes
from .answers.lake_forms import LakeDepth as LakeDepth
from .answers.lake_forms import LakeEdges as LakeEdges
from .answers.lake_forms import LakeFacts as LakeFacts
from .answers.pass_plan import PassPlan as PassPlan
from .answers.rig import Rig as Rig
from .answers.rig import rig as rig
from .answers.rig import rigs as rigs
from .answers.sky import sun as sun
from .answers.sky import thermocline as thermocline
from .answers.spread import spread as spread
from .answers.steady import LetOutTable as LetOutTable
from .answers.steady import LineShape as LineShape
from .answers.steady import RigAnswer as RigAnswer
from .errors import InputError as InputError
from .errors import NoAnswer as NoAnswer
from .spreads.answer import SpreadAnswer as SpreadAnswer

__version__: str
