"""Finding a blend of fats: the best within a maker's own limits, what each limit costs, and why none fits."""

from shared.blend.acids import Group, group_of, group_shares, mixed, profile_of
from shared.blend.clashes import Relaxation
from shared.blend.figures import Figures, figures_of, moved
from shared.blend.finder import Answer, Blend, LeftOut, Price, find_blend
from shared.blend.programme import warm_up
from shared.blend.wish import Aim, BlendError, Candidate, Goal, Kind, Limit, Side, Wish

__all__ = [
    "Aim",
    "Answer",
    "Blend",
    "BlendError",
    "Candidate",
    "Figures",
    "Goal",
    "Group",
    "Kind",
    "LeftOut",
    "Limit",
    "Price",
    "Relaxation",
    "Side",
    "Wish",
    "figures_of",
    "find_blend",
    "group_of",
    "group_shares",
    "mixed",
    "moved",
    "profile_of",
    "warm_up",
]
