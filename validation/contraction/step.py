#!/usr/bin/env python3
"""What a step in the width of a symmetric channel adds, in squares: the closed form against quadrature of its conformal map.

Half the channel, from its axis to one wall, is the image of the upper half plane by Schwarz and Christoffel's map

    dz/dt = (C/t) sqrt((t - p)/(t - q)),   p/q = r^2,  r = a/b > 1,

t = 0 the far end of the wide part (half width a), infinity that of the narrow one (half width b = pi C), the axis on t < 0 and the wall on
t > 0 with its corners at q (the foot of the step, a right angle) and p (its edge, three right angles). The potential of unit flow is
w = (1/pi) ln t. On the axis, t = -s with s from 0 to infinity, dx/ds = (C/s) sqrt((s + p)/(s + q)); with q = 1 and u = sqrt((s + p)/(s + q))

    x = C [ln((u + 1)/(u - 1)) - r ln((r + u)/(r - u))],

whose real part vanishes between the corners: x counts from the step. Taking L_a/a and L_b/b off the difference of w leaves

    (1/pi) [(r + 1/r) ln((r + 1)/(r - 1)) + 2 ln((r^2 - 1)/(4 r))]

for half the channel, and half of that in squares of the whole, which is two halves side by side.

Here the map is integrated numerically between two far places, and the step found on the wall: nothing of the closed form enters. Needs
mpmath.
"""

from mpmath import log, mp, mpf, pi, quad, sqrt

mp.dps = 30


def closed_form(r):
    return ((r + 1 / r) * log((r + 1) / (r - 1)) + 2 * log((r * r - 1) / (4 * r))) / (2 * pi)


def by_quadrature(r):
    p, q, c = mpf(r) ** 2, mpf(1), 1 / pi  # b = 1, a = r
    # from the far wide end (s1) to the far narrow end (s2) along the axis
    s1, s2 = mpf(10) ** -14, mpf(10) ** 14
    along = lambda lns: c * sqrt((mp.e**lns + p) / (mp.e**lns + q))
    length = quad(along, [log(s1), -20, -10, -5, 0, 5, 10, 20, log(s2)])
    # along the wall from t = s1 to q: the length of the wide part, up to the step; its integrand has a root's pole at q, so t = q - v^2
    wide = quad(lambda v: c / (q - v * v) * sqrt(p - q + v * v) * 2, [0, sqrt(q) / 2, sqrt(q - mpf("1e-3"))])
    near = lambda lnt: c * sqrt((p - mp.e**lnt) / (q - mp.e**lnt))
    wide += quad(near, [log(s1), -20, -10, log(mpf("1e-3"))])
    total = log(s2 / s1) / pi
    return (total - wide / r - (length - wide)) / 2


if __name__ == "__main__":
    for r in (2, 4):
        exact, found = closed_form(mpf(r)), by_quadrature(r)
        # the far places are off by their distance in t
        assert abs(exact - found) < mpf("1e-12"), (r, exact, found)
        print(f"{r}:1  closed form {mp.nstr(exact, 15)}  quadrature {mp.nstr(found, 15)}")
