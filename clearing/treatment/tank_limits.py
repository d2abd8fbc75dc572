"""Hold one tank against the limits of labels for the mix itself and for a single cut."""

from dataclasses import dataclass

from clearing.treatment.tank_book import USES, Row, book_rows, book_value

PER_MIX, PER_CUT = "mix", "cut"  # limits.csv: lb ae per 100 gal of mix, mL of product in a cut
MIX_UNIT = "lb ae per 100 gal"


@dataclass(frozen=True)
class Tank:
    """One tank as it would be poured.

    Attributes
    ----------
    tank_l, product_l : float
        Finished mix and product in it [l].
    percent : float or None
        What was asked for.
    measured : bool
        The product was poured by measure.
    herbicide, use : str or None
        Key of the handbook; hack, stump, basal or leaves.
    ml_per_cut : float
        Mix that one cut gets [ml].
    carrier : str or None
        water, oil or none (undiluted); None where only the label says.
    us : bool
        Fluid ounces first, else millilitres.
    """

    tank_l: float
    product_l: float
    percent: float | None
    measured: bool
    herbicide: str | None
    use: str | None
    ml_per_cut: float
    carrier: str | None = None
    us: bool = True

    @property
    def share(self) -> float:
        """Return the product in percent of the tank."""
        return round(100.0 * self.product_l / self.tank_l, 9)


def ae_lb_per_100_gal(herbicide: str | None, percent: float) -> float | None:
    """Return the acid of a mix as labels write it [lb per 100 gal]; None without a strength.

    percent of the mix x pounds of acid equivalent in a gallon of product, as on its label.

    References
    ----------
    nist_hb44; the strength carries its own source in the handbook
    """
    pounds = book_value("herbicides", herbicide, "lb_ae_per_gal") if herbicide else None
    return None if pounds is None else round(percent * pounds, 9)


def limits_passed(tank: Tank) -> list[str]:
    """Return the limits of the mix and of a cut that a tank passes, with clause and source.

    References
    ----------
    own reasoning; each limit carries its own source
    """
    pounds = ae_lb_per_100_gal(tank.herbicide, tank.share)
    found = []
    if pounds is not None:
        found += [_over(row, pounds, MIX_UNIT) for row in _rows(tank, PER_MIX)
                  if pounds > _most(row)]  # fmt: skip
    if tank.use == "hack":
        product_ml = tank.ml_per_cut * tank.share / 100.0
        found += [_over(row, product_ml, "mL of product a cut") for row in _rows(tank, PER_CUT)
                  if product_ml > _most(row)]  # fmt: skip
    return found


def limit_of_mix(tank: Tank) -> str:
    """Return the limit that holds a mix down, in words with its percent; blank for none.

    References
    ----------
    own reasoning; each limit carries its own source
    """
    strength = ae_lb_per_100_gal(tank.herbicide, 1.0)
    rows = _rows(tank, PER_MIX) if strength and tank.use else []
    if not strength or not rows:
        return ""
    row = min(rows, key=lambda each: float(each["value"]))
    most = float(row["value"])
    return (
        f"{most:g} {MIX_UNIT}, {most / strength:.3g} % of this product ({row['clause']}; "
        f"{_whence(row)})"
    )


def _rows(tank: Tank, per: str) -> list[Row]:
    """Return the limits of one kind that bear on a tank."""
    return [
        row for row in book_rows("limits")
        if row["per"] == per and row["herbicide"] in (tank.herbicide, "any")
        and (tank.use is None or not row["jobs"] or USES[tank.use] in row["jobs"].split())
    ]  # fmt: skip


def _most(row: Row) -> float:
    """Return a limit with the slack of rounding."""
    return float(row["value"]) * (1 + 1e-6)


def _whence(row: Row) -> str:
    return row["locator"] if row["seen"] == "memory" else f"{row['source']}, {row['locator']}"


def _over(row: Row, found: float, unit: str) -> str:
    """Return one passed limit in words."""
    return f"{found:.3g} {unit} is over {float(row['value']):g} ({row['clause']}; {_whence(row)})"
