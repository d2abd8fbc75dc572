"""Hold the tokens of the look once: colours, second signs, type; for page, map, PDF, charts."""

from dataclasses import dataclass

INK = "#1f2a24"
PAPER = "#fbf9f4"
LINE = "#cfc9ba"
ACCENT = "#2f6f5e"
KEEP_TREE = "#2b5d34"
KEEP_OUT = "#8b1e3f"
WATER = "#56B4E9"
QUIET = "#5a625c"  # ink for small print: 6 to 1 on paper

FONT_SCREEN = 'system-ui, -apple-system, "Segoe UI", Roboto, "Liberation Sans", sans-serif'
SIZE_SMALL_PX = 14
SIZE_BASE_PX = 16
SIZE_PHONE_PX = 18
SIZE_LARGE_PX = 27
FINGER_PX = 44
LINE_LENGTH_CH = 70


@dataclass(frozen=True)
class Sign:
    """What stands for one state of the ground: its words, colour and second sign.

    ``pattern`` is one of none, solid, rising, dots, fading, rings; ``outline`` is solid or
    dashed.
    """

    key: str
    words: str
    colour: str
    pattern: str
    outline: str


# colours: Okabe and Ito, colour-blind safe (source key: okabe_ito_2008)
SIGNS: tuple[Sign, ...] = (
    Sign("untouched", "not yet begun", "", "none", "solid"),
    Sign("standing_dead", "hack-and-squirt, standing dead", "#D55E00", "rising", "solid"),
    Sign("cut", "cut-and-spray", "#0072B2", "solid", "solid"),
    Sign("follow_up", "follow-up spray", "#E69F00", "dots", "solid"),
    Sign("grass", "mowed, in grass", "#009E73", "fading", "solid"),
    Sign("clear", "clear, upkeep only", "#009E73", "rings", "solid"),
    Sign("not_now", "not in these years", "", "none", "dashed"),
)


def sign(key: str) -> Sign:
    """Return the sign of one state.

    Raises
    ------
    KeyError
        There is no such state.

    References
    ----------
    own reasoning
    """
    return {one.key: one for one in SIGNS}[key]


def css_tokens() -> str:
    """Return the tokens as custom properties of a style sheet.

    References
    ----------
    own reasoning
    """
    colours = {
        "ink": INK,
        "paper": PAPER,
        "line": LINE,
        "accent": ACCENT,
        "keep-tree": KEEP_TREE,
        "keep-out": KEEP_OUT,
        "water": WATER,
        "quiet": QUIET,
        "font": FONT_SCREEN,
        "small": f"{SIZE_SMALL_PX}px",
        "base": f"{SIZE_BASE_PX}px",
        "phone": f"{SIZE_PHONE_PX}px",
        "large": f"{SIZE_LARGE_PX}px",
        "finger": f"{FINGER_PX}px",
        "measure": f"{LINE_LENGTH_CH}ch",
    }
    states = {f"state-{one.key.replace('_', '-')}": one.colour for one in SIGNS if one.colour}
    lines = "".join(f"--{name}:{value};" for name, value in (colours | states).items())
    return f":root{{{lines}}}"
