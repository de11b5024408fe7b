//! The words that the numbers of `report.html` use.

/// Word and meaning.
pub(super) type Word = (&'static str, &'static str);

/// What the words of any page mean.
pub(super) const WORDS: [Word; 4] = [
    (
        "ideal pattern",
        "V = −(b²/12μ) grad p, averaged over the gap b: in a uniform gap a potential flow without circulation.",
    ),
    (
        "shape factor",
        "Q/(K Δp), K = b³/(12μ): flow over what a square of cell would pass. Its bounds come from pressure and stream function solved side by side.",
    ),
    (
        "pressure coefficient",
        "1 − (|V|/U)²: Bernoulli's for the inviscid flow with these streamlines; the pressure of the cell itself falls along the flow instead.",
    ),
    ("direction", "angle from the direction of the flow, counter-clockwise."),
];

/// What the words of the departure budget mean.
pub(super) const BUDGET_WORDS: [Word; 6] = [
    ("edge layer", "no slip at solid edges makes them act as if 0.315 b thicker; order b/L."),
    ("inertia", "parts the layers in the gap and shifts the gap mean along edges; orders Re* and Re* b/L."),
    ("bubble", "what the flow shows because it goes round bubbles, against the same cell without them."),
    ("confinement", "how the same obstacles would look in an unbounded stream; no fault of the cell."),
    ("shift", "how far a streakline released at the same place moves sideways, to first order."),
    (
        "below error, negligible",
        "smaller than the estimated numerical error, or than a hundredth of the tolerance: only that it is small is known.",
    ),
];

/// What the words of a comparison with the bench mean.
pub(super) const COMPARE_WORDS: [Word; 5] = [
    (
        "shift",
        "how far a traced line stands to the left of the line of the ideal pattern with the same flow below it, at its own best level.",
    ),
    (
        "size over the predicted",
        "1 if an effect shifts the lines by as much as theory has it, 0 if the lines do not show it.",
    ),
    (
        "its own part",
        "the part of an effect's pattern of shifts that neither levels, map nor other effects can stand for.",
    ),
    ("map", "which place of the dye each pixel shows, found from marks of known place through plate and fluid."),
    ("station", "a place of a traced line, evenly spaced along it; its centre is a fit through the dye about it."),
];

/// What the words of a filling mean.
pub(super) const FILL_WORDS: [Word; 5] = [
    ("front", "the line at which the fluid meets the air that it pushes out."),
    (
        "impulse",
        "(b²/12μ) ∫ (p_in − p_front) dt: with one pressure along the front the shapes depend on it alone, not on the clock.",
    ),
    (
        "N, N_r",
        "viscous over in-plane capillary pressure, 12μUr²/(cγb²), r the obstacle's half extent or the radius that the channel gives the front.",
    ),
    ("effective angle", "contact angle of the front at a side, seen in the plane of the plates."),
    ("none by this model", "contact lines that stick to rough edges, and corner films, can still hold air there."),
];

/// What the words of a campaign mean.
pub(super) const CAMPAIGN_WORDS: [Word; 3] = [
    ("run", "the case with one value under each varied key, solved as if it were the only one."),
    ("numerical error", "what the mesh may have done to a number, estimated within its own run."),
    (
        "target missed",
        "done, but the wanted accuracy was not reached; its numbers stand in tables and figures all the same.",
    ),
];

/// What the words of uncertainties mean.
pub(super) const UNCERTAINTY_WORDS: [Word; 4] = [
    (
        "standard uncertainty",
        "the standard deviation that the tolerances, taken as independent, give a number (JCGM 100:2008, 5.1.2).",
    ),
    (
        "share",
        "the part of the variance that falls away if a value is known exactly: alone (first order), or with all it does together with others (total; \
         Sobol 1993; by a polynomial, Sudret 2008).",
    ),
    (
        "several together",
        "the part of the variance that comes of values only together: no single one of them is to blame for it.",
    ),
    (
        "95 % from, to",
        "between these 95 % of the values lie: two standard uncertainties to both sides, or the quantiles of the sample.",
    ),
];

/// What the words of a search mean.
pub(super) const SEEK_WORDS: [Word; 4] = [
    ("row", "the number of the report that is brought to a value, or made as small or as large as can be."),
    (
        "+-",
        "how far the key may be off: the accuracy of the search, and the numerical error of the row over its slope there.",
    ),
    (
        "beyond limits",
        "by how much the limit that is passed furthest is passed, over its size; below zero all limits are kept.",
    ),
    (
        "how it was sought",
        "places all over the range first, then Brent's method (Brent 1973), for two keys Nelder and Mead's (1965), from the best of them.",
    ),
];
