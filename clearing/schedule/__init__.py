"""When is it done? One option for each strip, at least cost, within hours and money.

Takes options, visits, the rates and the owner's wishes.
Gives the plan (`choose`) with its bound and gap, the reason of each choice, odds, reserve, what
one more hour or dollar saves, purchases, and what simple rules would cost; below it `solve`, which
knows nothing of trees: groups, options, limits and pairs (`Instance` in, `Plan` out).
"""

from clearing.schedule.choice import choose
from clearing.schedule.field import Around
from clearing.schedule.instance import Instance
from clearing.schedule.odds import together
from clearing.schedule.plan import Plan, Status
from clearing.schedule.solver import solve
from clearing.schedule.thumb import strip_order

__all__ = ["Around", "Instance", "Plan", "Status", "choose", "solve", "strip_order", "together"]
