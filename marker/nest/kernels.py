"""The compiled inner loops of the search. All of them live here, because numba's disk cache notices
changes only in the file of the kernel that is called, not in files of the kernels that it calls.

Tables (made by ``landscape``; P distinct polygons, G no-fit polygons up to mirroring):

``pf`` float64[P*P, 12], row a * P + b: place of polygon b relative to polygon a
    0-3 box of the no-fit polygon (x lo, x hi, y lo, y hi); 4, 5 signs and 6, 7 shifts that bring a
    relative place into the frame of the stored no-fit polygon; 8 weight of a unit of depth;
    9, 10 place of the raster's first node
``pi`` int64[P*P, 6]: first cell, cells a row, cell rows, first raster node, nodes a row, node rows
``first`` int64[cells + 1], ``near`` int32[...]: for each cell the edges that can be nearest in it
``edges`` float64[edges, 10]: start x, y; vector x, y; 1 / length²; 1 / length; outward normal at the
    start and at the end, between those of the two edges that meet there: where a corner is nearest, it
    tells inside from outside (Bærentzen & Aanæs 2005). The forbidden interior lies on the left.
``raster`` float32[...]: depth times weight at the nodes (negative outside the no-fit polygon)

Depth of a point in a no-fit polygon: the least distance to its outline, that is the least translation
that parts the two polygons (penetration depth). Depths up to ``TOLERANCE`` count as none.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numba
import numpy as np
from llvmlite import ir
from numba import types
from numba.extending import intrinsic

# Kernels take their arrays one by one, which is fastest; a line each would bury the code.
# fmt: off

TOLERANCE = 0.75
"""Depth in lattice units that counts as touching: places are rounded to the lattice, and slides that are
exact in theory are off by a fraction of a unit."""

NEAR = 160
"""Most neighbours that are looked at round a place."""

INSIDE, OUTSIDE = -1, -2
"""Marks of cells through which the outline does not pass."""

BLOCK = 8
"""Nodes added in one vector operation; raster rows end with as many nodes far outside."""

ELSEWHERE = 0.2
"""How often a shape on a long strip looks for a place far away."""

PAIR = 0.003
"""Work units for looking whether a pair can touch at all."""

NEARLY = 0.49
"""How far outside its window a place on a lattice may be before it is rounded."""

LOOSE = 1.5
"""Periods of less than so many times the distance of a landscape's nodes are too short to look at places one
by one."""

ROUNDS = 12
PLANES = 16
"""Most half-planes in the small linear programme of a step."""


def _cache_works() -> bool:
    """Whether numba can keep compiled kernels for the next run (it needs a writable folder)."""
    try:

        @numba.njit(cache=True)
        def probe() -> int:
            return 1
    except RuntimeError:
        return False
    return probe is not None


CACHE = _cache_works()


def kernel(function: Callable[..., Any]) -> Any:
    """A compiled function without the interpreter's lock, kept on disk where that is possible."""
    return numba.njit(cache=CACHE, nogil=True, fastmath={"contract", "nsz", "arcp"})(function)


@kernel
def random_unit(state):
    """A random number in [0, 1) from state uint64[1] (xorshift64*, Vigna 2016)."""
    x = state[0]
    x ^= x >> np.uint64(12)
    x ^= x << np.uint64(25)
    x ^= x >> np.uint64(27)
    state[0] = x
    return float((x * np.uint64(2685821657736338717)) >> np.uint64(11)) * (1.0 / 9007199254740992.0)


# ---------------------------------------------------------------------------------------------------
# Tables


@kernel
def signed_depth(x, y, lo, hi, edges):
    """Depth of a point in the outline made of edges lo..hi (negative outside), by counting crossings."""
    best = np.inf
    inside = False
    for k in range(lo, hi):
        ay = edges[k, 1]
        if (ay > y) != (ay + edges[k, 3] > y) and x < edges[k, 0] + (y - ay) / edges[k, 3] * edges[k, 2]:
            inside = not inside
        best = min(best, edge_distance(x, y, k, edges))
    return best if inside else -best


@kernel
def edge_distance(x, y, k, edges):
    dx = x - edges[k, 0]
    dy = y - edges[k, 1]
    t = min(1.0, max(0.0, (dx * edges[k, 2] + dy * edges[k, 3]) * edges[k, 4]))
    dx -= t * edges[k, 2]
    dy -= t * edges[k, 3]
    return np.sqrt(dx * dx + dy * dy)


@kernel
def fill_nodes(lo, hi, edges, x0, y0, pitch, nx, ny, out):
    """Depth at the nx × ny nodes of a grid."""
    for r in range(ny):
        for c in range(nx):
            out[r * nx + c] = signed_depth(x0 + c * pitch, y0 + r * pitch, lo, hi, edges)


@kernel
def fill_cells(lo, hi, edges, pitch, nx, ny, reach, counts, near):
    """For each cell the edges that can be nearest to a point in it; returns how many in all.

    The grid starts at 0, 0. Cells farther than ``reach`` outside the outline get none; those that lie
    wholly inside or outside have ``INSIDE`` or ``OUTSIDE`` before the first edge.
    """
    radius = pitch * 0.7072
    used = 0
    for r in range(ny):
        for c in range(nx):
            x = (c + 0.5) * pitch
            y = (r + 0.5) * pitch
            depth = signed_depth(x, y, lo, hi, edges)
            n = 0
            if depth > -reach - radius:
                limit = abs(depth) + 2.0 * radius + 1e-6
                if abs(depth) > radius + 1e-6:
                    if used < near.shape[0]:
                        near[used] = INSIDE if depth > 0.0 else OUTSIDE
                    n = 1
                for k in range(lo, hi):
                    if edge_distance(x, y, k, edges) <= limit:
                        if used + n < near.shape[0]:
                            near[used + n] = k
                        n += 1
            counts[r * nx + c] = n
            used += n
    return used


@kernel
def deepest(a_x, a_y, b_x, b_y, a_poly, b_poly, polys, pf, group, span, edges):
    """Depth of b's reference point in the no-fit polygon of a, found from all edges by crossing count.

    The slow and simple twin of ``depth_at``: it certifies what the search believes.
    """
    row = a_poly * polys + b_poly
    dx = b_x - a_x
    dy = b_y - a_y
    if dx <= pf[row, 0] or dx >= pf[row, 1] or dy <= pf[row, 2] or dy >= pf[row, 3]:
        return 0.0
    x = pf[row, 4] * dx + pf[row, 6]
    y = pf[row, 5] * dy + pf[row, 7]
    return max(0.0, signed_depth(x, y, span[group[row]], span[group[row] + 1], edges))


@kernel
def deepest_of_all(x, y, poly, movable, polys, pf, group, span, edges, work):
    """The deepest overlap of any pair with a movable partner, lattice units."""
    worst = 0.0
    for i in range(movable):
        work[0] += PAIR * (x.shape[0] - i)
        for j in range(i + 1, x.shape[0]):
            d = deepest(x[i], y[i], x[j], y[j], poly[i], poly[j], polys, pf, group, span, edges)
            worst = max(worst, d)
    return worst


# ---------------------------------------------------------------------------------------------------
# Overlap of two polygons, from their outlines alone and exact


@kernel
def interiors_meet(a, b, dx, dy):
    """Whether the interiors of two polygons have a point in common, b moved by dx, dy.

    ``a`` and ``b`` are int64[n, 2], simple, counter-clockwise. The answer is exact as long as both lie within
    2**29 units of each other. They do not overlap exactly if no edges cross, none run the same way along
    each other, and no stretch of an outline between places where they touch lies inside the other.
    """
    for i in range(a.shape[0]):
        k = i + 1 if i + 1 < a.shape[0] else 0
        px = a[i, 0] - dx
        py = a[i, 1] - dy
        ux = a[k, 0] - a[i, 0]
        uy = a[k, 1] - a[i, 1]
        for j in range(b.shape[0]):
            k = j + 1 if j + 1 < b.shape[0] else 0
            vx = b[k, 0] - b[j, 0]
            vy = b[k, 1] - b[j, 1]
            wx = b[j, 0] - px
            wy = b[j, 1] - py
            if (
                max(wx, wx + vx) < min(0, ux)
                or min(wx, wx + vx) > max(0, ux)
                or max(wy, wy + vy) < min(0, uy)
                or min(wy, wy + vy) > max(0, uy)
            ):
                continue
            start = ux * wy - uy * wx
            turn = ux * vy - uy * vx
            end = start + turn
            if start == 0 and end == 0:
                # In line: how far along a's edge b's starts and ends.
                low = ux * wx + uy * wy
                high = low + ux * vx + uy * vy
                if high > low and low < ux * ux + uy * uy and high > 0:
                    return True
            elif (start < 0 and end > 0) or (start > 0 and end < 0):
                here = wy * vx - wx * vy
                there = here + turn
                if (here < 0 and there > 0) or (here > 0 and there < 0):
                    return True
    return outline_enters(a, b, dx, dy) or outline_enters(b, a, -dx, -dy)


@kernel
def outline_enters(a, b, dx, dy):
    """Whether the outline of a goes through the interior of b (moved by dx, dy), where no edges cross."""
    lo_x = hi_x = b[0, 0]
    lo_y = hi_y = b[0, 1]
    for j in range(1, b.shape[0]):
        lo_x = min(lo_x, b[j, 0])
        hi_x = max(hi_x, b[j, 0])
        lo_y = min(lo_y, b[j, 1])
        hi_y = max(hi_y, b[j, 1])
    for i in range(a.shape[0]):
        k = i + 1 if i + 1 < a.shape[0] else 0
        x = a[i, 0] - dx
        y = a[i, 1] - dy
        end_x = a[k, 0] - dx
        end_y = a[k, 1] - dy
        if max(x, end_x) <= lo_x or min(x, end_x) >= hi_x or max(y, end_y) <= lo_y or min(y, end_y) >= hi_y:
            continue
        while x != end_x or y != end_y:
            # The stretch up to the next corner of b, twice as large so that its middle is whole.
            ux = end_x - x
            uy = end_y - y
            next_x = end_x
            next_y = end_y
            nearest = ux * ux + uy * uy
            for j in range(b.shape[0]):
                wx = b[j, 0] - x
                wy = b[j, 1] - y
                if ux * wy == uy * wx:
                    along = ux * wx + uy * wy
                    if 0 < along < nearest:
                        nearest = along
                        next_x = b[j, 0]
                        next_y = b[j, 1]
            if lies_inside(x + next_x, y + next_y, b):
                return True
            x = next_x
            y = next_y
    return False


@kernel
def lies_inside(x, y, polygon):
    """Whether the point x / 2, y / 2 lies inside a polygon; not on its outline."""
    inside = False
    for j in range(polygon.shape[0]):
        k = j + 1 if j + 1 < polygon.shape[0] else 0
        ax = 2 * polygon[j, 0] - x
        ay = 2 * polygon[j, 1] - y
        bx = 2 * polygon[k, 0] - x
        by = 2 * polygon[k, 1] - y
        side = ax * by - ay * bx
        if side == 0 and ax * bx + ay * by <= 0:
            return False
        if ay <= 0:
            if by > 0 and side > 0:
                inside = not inside
        elif by <= 0 and side < 0:
            inside = not inside
    return inside


# ---------------------------------------------------------------------------------------------------
# Depth of one pair


@kernel
def depth_at(row, dx, dy, size, pf, pi, first, near, edges):
    """Depth beyond ``TOLERANCE`` of a place in a no-fit polygon; 0 outside."""
    if dx <= pf[row, 0] or dx >= pf[row, 1] or dy <= pf[row, 2] or dy >= pf[row, 3]:
        return 0.0
    x = pf[row, 4] * dx + pf[row, 6]
    y = pf[row, 5] * dy + pf[row, 7]
    cell = pi[row, 0] + int(y / size) * pi[row, 1] + int(x / size)
    begin = first[cell]
    end = first[cell + 1]
    if begin == end:
        return 0.0
    sure = near[begin] < 0
    if sure:
        if near[begin] == OUTSIDE:
            return 0.0
        begin += 1
    best = np.inf
    inside = False
    for n in range(begin, end):
        k = near[n]
        px = x - edges[k, 0]
        py = y - edges[k, 1]
        ex = edges[k, 2]
        ey = edges[k, 3]
        t = (px * ex + py * ey) * edges[k, 4]
        if t <= 0.0:
            d = px * px + py * py
            within = px * edges[k, 6] + py * edges[k, 7] < 0.0
        elif t >= 1.0:
            px = x - (edges[k, 0] + ex)
            py = y - (edges[k, 1] + ey)
            d = px * px + py * py
            within = px * edges[k, 8] + py * edges[k, 9] < 0.0
        else:
            c = (ex * py - ey * px) * edges[k, 5]
            d = c * c
            within = c > 0.0
        if d < best:
            best = d
            inside = within
        elif d == best and within:
            inside = True
    if not (inside or sure):
        return 0.0
    return max(0.0, np.sqrt(best) - TOLERANCE)


@kernel
def plane_at(row, dx, dy, size, pf, pi, first, near, edges, plane):
    """The nearest stretch of the outline, as a half-plane: depth after a step s is depth - normal · s.

    Writes depth (negative outside) and the normal, pointing out, to plane[0:3]; False where the place is
    too far outside to matter.
    """
    x = pf[row, 4] * dx + pf[row, 6]
    y = pf[row, 5] * dy + pf[row, 7]
    if x < 0.0 or y < 0.0:
        return False
    cx = int(x / size)
    cy = int(y / size)
    if cx >= pi[row, 1] or cy >= pi[row, 2]:
        return False
    cell = pi[row, 0] + cy * pi[row, 1] + cx
    begin = first[cell]
    end = first[cell + 1]
    if begin == end:
        return False
    known = near[begin]
    if known < 0:
        begin += 1
    best = np.inf
    inside = False
    nx = 0.0
    ny = 0.0
    for n in range(begin, end):
        k = near[n]
        px = x - edges[k, 0]
        py = y - edges[k, 1]
        ex = edges[k, 2]
        ey = edges[k, 3]
        t = (px * ex + py * ey) * edges[k, 4]
        if t <= 0.0:
            d = px * px + py * py
            within = px * edges[k, 6] + py * edges[k, 7] < 0.0
        elif t >= 1.0:
            px = x - (edges[k, 0] + ex)
            py = y - (edges[k, 1] + ey)
            d = px * px + py * py
            within = px * edges[k, 8] + py * edges[k, 9] < 0.0
        else:
            c = (ex * py - ey * px) * edges[k, 5]
            d = c * c
            within = c > 0.0
            px = ey * edges[k, 5]
            py = -ex * edges[k, 5]
            if within if known >= 0 else known == INSIDE:
                px = -px
                py = -py
        if d < best or (d == best and within and not inside):
            best = d
            inside = within
            nx = px
            ny = py
    if known < 0:
        inside = known == INSIDE
    depth = np.sqrt(best)
    length = np.sqrt(nx * nx + ny * ny)
    if length == 0.0:
        return False
    if inside:
        # px, py leads from the nearest point of the outline to the place: outwards is back.
        plane[0] = depth
        plane[1] = -nx / length * pf[row, 4]
        plane[2] = -ny / length * pf[row, 5]
    else:
        plane[0] = -depth
        plane[1] = nx / length * pf[row, 4]
        plane[2] = ny / length * pf[row, 5]
    return True


# ---------------------------------------------------------------------------------------------------
# Placing one shape


@kernel
def neighbours(i, p, x, y, reach, polys, pf, px, py, poly, near_items):
    """Which others can overlap shape i, laid as polygon p, anywhere within reach of x, y."""
    n = 0
    for j in range(px.shape[0]):
        if j == i:
            continue
        row = poly[j] * polys + p
        dx = x - px[j]
        dy = y - py[j]
        if (
            dx > pf[row, 0] - reach
            and dx < pf[row, 1] + reach
            and dy > pf[row, 2] - reach
            and dy < pf[row, 3] + reach
            and n < NEAR
        ):
            near_items[n] = j
            n += 1
    return n


@kernel
def loss_at(i, p, x, y, n, near_items, limit, polys, cell, pf, pi, first, near, edges, px, py, poly, weights):
    """Weighted overlap of shape i, laid as polygon p at x, y, with its n neighbours; stops above limit.

    ``weights`` float32[everything] are those of i's pairs.
    """
    total = 0.0
    for m in range(n):
        j = near_items[m]
        row = poly[j] * polys + p
        d = depth_at(row, x - px[j], y - py[j], cell, pf, pi, first, near, edges)
        if d > 0.0:
            total += d * pf[row, 8] * weights[j]
            if total >= limit:
                break
    return total


@kernel
def model_step(n, planes, lo_x, hi_x, lo_y, hi_y, out):
    """The step with the least sum of weighted depths over n half-planes, within a box of steps.

    planes[k] = depth, normal x, normal y, weight. The sum is convex and linear by pieces, so a corner of
    the arrangement of lines (planes and box) is best; all of them are tried. Writes the step to out.
    """
    best = np.inf
    best_length = np.inf
    out[0] = 0.0
    out[1] = 0.0
    for a in range(n + 4):
        if a < n:
            ax = planes[a, 1]
            ay = planes[a, 2]
            ad = planes[a, 0]
        elif a == n:
            ax, ay, ad = 1.0, 0.0, lo_x
        elif a == n + 1:
            ax, ay, ad = 1.0, 0.0, hi_x
        elif a == n + 2:
            ax, ay, ad = 0.0, 1.0, lo_y
        else:
            ax, ay, ad = 0.0, 1.0, hi_y
        # The foot of the origin on each line is tried too: the shortest way out.
        for b in range(a, n + 4):
            if b == a:
                sx = ax * ad
                sy = ay * ad
            else:
                if b < n:
                    bx = planes[b, 1]
                    by = planes[b, 2]
                    bd = planes[b, 0]
                elif b == n:
                    bx, by, bd = 1.0, 0.0, lo_x
                elif b == n + 1:
                    bx, by, bd = 1.0, 0.0, hi_x
                elif b == n + 2:
                    bx, by, bd = 0.0, 1.0, lo_y
                else:
                    bx, by, bd = 0.0, 1.0, hi_y
                det = ax * by - ay * bx
                if abs(det) < 1e-9:
                    continue
                sx = (ad * by - bd * ay) / det
                sy = (ax * bd - bx * ad) / det
            if sx < lo_x - 1e-9 or sx > hi_x + 1e-9 or sy < lo_y - 1e-9 or sy > hi_y + 1e-9:
                continue
            total = 0.0
            for k in range(n):
                d = planes[k, 0] - planes[k, 1] * sx - planes[k, 2] * sy
                if d > 0.0:
                    total += d * planes[k, 3]
                    if total > best + 1e-6:
                        break
            length = sx * sx + sy * sy
            if total < best - 1e-6 or (total <= best + 1e-6 and length < best_length):
                best = total
                best_length = length
                out[0] = sx
                out[1] = sy
    return best


@kernel
def refine(
    i, p, x, y, limit, x_lo, x_hi, y_lo, y_hi, span, at, near_items, planes,
    polys, cell, pf, pi, first, near, edges, px, py, poly, weights, work,
):
    """Slides shape i from x, y to a place of locally least overlap; writes it to at[0:2], returns the loss.

    Each round replaces the no-fit polygons round about by their nearest edges, solves that small linear
    programme exactly within a box of steps, and keeps the step if the true overlap is less. Gives up when
    not even the programme promises to get below ``limit``.
    """
    reach = 2.5 * span
    start_x = x
    start_y = y
    n = neighbours(i, p, x, y, reach, polys, pf, px, py, poly, near_items)
    loss = loss_at(
        i, p, x, y, n, near_items, np.inf, polys, cell, pf, pi, first, near, edges, px, py, poly, weights
    )
    work[0] += 0.15 + 0.06 * n + 0.6 * PAIR * px.shape[0]
    trust = span
    fresh = False
    m = 0
    for _ in range(ROUNDS):
        if loss <= 0.0:
            break
        if not fresh:
            m = 0
            for q in range(n):
                j = near_items[q]
                row = poly[j] * polys + p
                if m < PLANES and plane_at(
                    row, x - px[j], y - py[j], cell, pf, pi, first, near, edges, planes[m]
                ) and planes[m, 0] > -1.5 * trust:
                    planes[m, 3] = pf[row, 8] * weights[j]
                    m += 1
            fresh = True
            work[0] += 0.1 * n
        lo_x = max(x_lo, x - trust, start_x - reach) - x
        hi_x = min(x_hi, x + trust, start_x + reach) - x
        lo_y = max(y_lo, y - trust, start_y - reach) - y
        hi_y = min(y_hi, y + trust, start_y + reach) - y
        model = model_step(m, planes, lo_x, hi_x, lo_y, hi_y, planes[PLANES])
        work[0] += 0.2 + 0.002 * m * m * m
        if model >= loss * 0.99 or model >= limit:
            break
        new_x = min(x_hi, max(x_lo, np.rint(x + planes[PLANES, 0])))
        new_y = min(y_hi, max(y_lo, np.rint(y + planes[PLANES, 1])))
        new = loss_at(
            i, p, new_x, new_y, n, near_items, loss, polys, cell, pf, pi, first, near, edges, px, py, poly,
            weights,
        )
        work[0] += 0.04 * n
        if new < loss:
            x = new_x
            y = new_y
            loss = new
            fresh = False
        else:
            trust = 0.25 * min(trust, max(abs(new_x - x), abs(new_y - y)))
            if trust < 1.0:
                break
    at[0] = x
    at[1] = y
    return loss


@intrinsic
def add_block(typing_context, land, at, raster, one, two, w00, w01, w10, w11):
    """land[at : at + 8] += max(0, four raster nodes weighted), as one vector operation.

    Written out because the vectoriser unrolls too far for rows this short and then never gets to the fast
    part; measured 4 times faster than the plain loop.
    """
    signature = types.void(
        land, types.int64, raster, types.int64, types.int64,
        types.float32, types.float32, types.float32, types.float32,
    )

    def generate(context, builder, signature, args):
        land_value, at_value, raster_value, one_value, two_value, *weights = args
        vector = ir.VectorType(ir.FloatType(), BLOCK)
        lanes = ir.VectorType(ir.IntType(32), BLOCK)
        step = ir.Constant(ir.IntType(64), 1)
        target = context.make_array(signature.args[0])(context, builder, land_value).data
        source = context.make_array(signature.args[2])(context, builder, raster_value).data

        def pointer(base, index):
            return builder.bitcast(builder.gep(base, [index]), vector.as_pointer())

        def load(place):
            value = builder.load(place)
            value.align = 4
            return value

        def splat(scalar):
            undefined = ir.Constant(vector, ir.Undefined)
            first = builder.insert_element(undefined, scalar, ir.Constant(ir.IntType(32), 0))
            return builder.shuffle_vector(first, undefined, ir.Constant(lanes, [0] * BLOCK))

        nodes = []
        for row in (one_value, two_value):
            nodes += [load(pointer(source, row)), load(pointer(source, builder.add(row, step)))]
        total = builder.fmul(splat(weights[0]), nodes[0], flags=("contract",))
        for weight, node in zip(weights[1:], nodes[1:], strict=True):
            product = builder.fmul(splat(weight), node, flags=("contract",))
            total = builder.fadd(total, product, flags=("contract",))
        zero = ir.Constant(vector, [0.0] * BLOCK)
        positive = builder.select(builder.fcmp_ordered(">", total, zero), total, zero)
        place = pointer(target, at_value)
        builder.store(builder.fadd(load(place), positive), place).align = 4
        return context.get_dummy_value()

    return signature, generate


@intrinsic
def fill_block(typing_context, land, at, value):
    """land[at : at + 8] = value, as one vector operation."""
    signature = types.void(land, types.int64, types.float32)

    def generate(context, builder, signature, args):
        land_value, at_value, fill = args
        vector = ir.VectorType(ir.FloatType(), BLOCK)
        undefined = ir.Constant(vector, ir.Undefined)
        lanes = ir.Constant(ir.VectorType(ir.IntType(32), BLOCK), [0] * BLOCK)
        data = context.make_array(signature.args[0])(context, builder, land_value).data
        filled = builder.insert_element(undefined, fill, ir.Constant(ir.IntType(32), 0))
        filled = builder.shuffle_vector(filled, undefined, lanes)
        place = builder.bitcast(builder.gep(data, [at_value]), vector.as_pointer())
        builder.store(filled, place).align = 4
        return context.get_dummy_value()

    return signature, generate


@intrinsic
def minima_in_block(typing_context, land, at, stride, limit):
    """Bits of those of land[at : at + 8] that are local minima below the limit, by vector operations.

    Of equal neighbours the first in reading order counts.
    """
    signature = types.int64(land, types.int64, types.int64, types.float32)

    def generate(context, builder, signature, args):
        land_value, at_value, stride_value, limit_value = args
        vector = ir.VectorType(ir.FloatType(), BLOCK)
        undefined = ir.Constant(vector, ir.Undefined)
        lanes = ir.Constant(ir.VectorType(ir.IntType(32), BLOCK), [0] * BLOCK)
        data = context.make_array(signature.args[0])(context, builder, land_value).data

        def load(rows, columns):
            index = builder.add(at_value, ir.Constant(ir.IntType(64), columns))
            if rows < 0:
                index = builder.sub(index, stride_value)
            elif rows > 0:
                index = builder.add(index, stride_value)
            value = builder.load(builder.bitcast(builder.gep(data, [index]), vector.as_pointer()))
            value.align = 4
            return value

        def least(values):
            low = values[0]
            for value in values[1:]:
                low = builder.select(builder.fcmp_ordered("<", value, low), value, low)
            return low

        value = load(0, 0)
        limits = builder.insert_element(undefined, limit_value, ir.Constant(ir.IntType(32), 0))
        limits = builder.shuffle_vector(limits, undefined, lanes)
        before = least([load(-1, -1), load(-1, 0), load(-1, 1), load(0, -1)])
        after = least([load(1, -1), load(1, 0), load(1, 1), load(0, 1)])
        mask = builder.fcmp_ordered("<", value, least([limits, before]))
        mask = builder.and_(mask, builder.fcmp_ordered("<=", value, after))
        return builder.zext(builder.bitcast(mask, ir.IntType(BLOCK)), ir.IntType(64))

    return signature, generate


@kernel
def add_raster(land, stride, columns, rows, u, v, edge_u, edge_v, start, nx, ny, weight, raster):
    """Adds one raster, shifted and clipped at zero, into the landscape; returns how many nodes it touched.

    Node (0, 0) of the landscape lies at u, v in the raster's grid, the last column and row at edge_u and
    edge_v, the others a node apart. Row r starts at (r + 1) * stride. The last column is kept BLOCK further
    on meanwhile, because blocks may run over the end of a row.
    """
    shift = int(np.floor(u))
    rise = int(np.floor(v))
    c_lo = max(0, -shift)
    c_hi = min(columns, nx - 1 - shift)
    r_lo = max(0, -rise)
    r_hi = min(rows, ny - 1 - rise)
    one = np.float32(1.0)
    zero = np.float32(0.0)
    w = np.float32(weight)
    fx = np.float32(u - shift)
    fy = np.float32(v - rise)
    width = nx + BLOCK
    if c_lo < c_hi and r_lo < r_hi:
        w00 = (one - fx) * (one - fy) * w
        w01 = fx * (one - fy) * w
        w10 = (one - fx) * fy * w
        w11 = fx * fy * w
        a = start + (r_lo + rise) * width + shift
        o = (r_lo + 1) * stride
        for _ in range(r_hi - r_lo):
            for c in range(c_lo, c_hi, BLOCK):
                add_block(land, o + c, raster, a + c, a + width + c, w00, w01, w10, w11)
            a += width
            o += stride
    last_row = edge_v >= 0.0 and edge_v < ny - 1
    k = int(edge_v) if last_row else 0
    gy = np.float32(edge_v - k)
    if last_row and c_lo < c_hi:
        w00 = (one - fx) * (one - gy) * w
        w01 = fx * (one - gy) * w
        w10 = (one - fx) * gy * w
        w11 = fx * gy * w
        a = start + k * width + shift
        for c in range(c_lo, c_hi, BLOCK):
            add_block(land, (rows + 1) * stride + c, raster, a + c, a + width + c, w00, w01, w10, w11)
    if edge_u >= 0.0 and edge_u < nx - 1:
        q = int(edge_u)
        gx = np.float32(edge_u - q)
        for r in range(r_lo, r_hi):
            a = start + (r + rise) * width + q
            value = (one - fy) * ((one - gx) * raster[a] + gx * raster[a + 1]) + fy * (
                (one - gx) * raster[a + width] + gx * raster[a + width + 1]
            )
            if value > zero:
                land[(r + 1) * stride + columns + BLOCK] += w * value
        if last_row:
            a = start + k * width + q
            value = (one - gy) * ((one - gx) * raster[a] + gx * raster[a + 1]) + gy * (
                (one - gx) * raster[a + width] + gx * raster[a + width + 1]
            )
            if value > zero:
                land[(rows + 1) * stride + columns + BLOCK] += w * value
    return max(0, r_hi - r_lo) * (max(0, c_hi - c_lo) + BLOCK)


@kernel
def build_landscape(
    i, p, x0, x1, y0, y1, land, polys, pitch, pf, pi, raster, px, py, poly, weights, work
):
    """Overlap of shape i, laid as polygon p, at every node of the window; returns columns, rows, stride.

    Node (r, c) is land[(r + 1) * stride + c]; the last column and row (``columns``, ``rows``) lie exactly on
    the window's edge. ``land`` needs stride * (rows + 3) + 1 nodes.
    """
    columns = int((x1 - x0) / pitch) + 1
    rows = int((y1 - y0) / pitch) + 1
    if x1 == x0:
        columns = 0
    if y1 == y0:
        rows = 0
    # Infinity frames the nodes on all sides, so that none is at an edge when minima are looked for.
    stride = (columns + 2 * BLOCK) // BLOCK * BLOCK
    for k in range(stride, stride * (rows + 2), BLOCK):
        fill_block(land, k, np.float32(0.0))
    touched = 0
    per = 1.0 / pitch
    span_u = (x1 - x0) * per
    span_v = (y1 - y0) * per
    for j in range(px.shape[0]):
        if j == i:
            continue
        row = poly[j] * polys + p
        if (
            px[j] + pf[row, 0] < x1
            and px[j] + pf[row, 1] > x0
            and py[j] + pf[row, 2] < y1
            and py[j] + pf[row, 3] > y0
        ):
            u = (x0 - px[j] - pf[row, 9]) * per
            v = (y0 - py[j] - pf[row, 10]) * per
            touched += 100 + add_raster(
                land, stride, columns, rows, u, v, u + span_u, v + span_v,
                pi[row, 3], pi[row, 4], pi[row, 5], weights[j], raster,
            )
    infinite = np.float32(np.inf)
    for k in range(0, stride, BLOCK):
        fill_block(land, k, infinite)
        fill_block(land, stride * (rows + 2) + k, infinite)
    land[stride * (rows + 3)] = infinite
    for r in range(1, rows + 2):
        o = r * stride + columns
        land[o] = land[o + BLOCK]
        fill_block(land, o + 1, infinite)
        fill_block(land, (r + 1) * stride - BLOCK, infinite)
    work[0] += 0.00025 * touched + 0.0002 * stride * (rows + 1) + 0.003 * px.shape[0]
    return columns, rows, stride


@kernel
def collect_minima(land, columns, rows, stride, v, x0, x1, y0, y1, pitch, found, count, keep):
    """Merges the landscape's best local minima into found[k] = value, variant, x, y, least value first."""
    worst = np.float32(found[count - 1, 0]) if count == keep else np.float32(np.inf)
    for block in range(stride, stride * (rows + 2), BLOCK):
        mask: int = minima_in_block(land, block, stride, worst)
        if mask == 0:
            continue
        for k in range(BLOCK):
            if not mask >> k & 1:
                continue
            o = block + k
            value = land[o]
            if value >= worst:
                continue
            r = o // stride - 1
            c = o - (r + 1) * stride
            if count < keep:
                count += 1
            place = count - 1
            while place > 0 and found[place - 1, 0] > value:
                for q in range(4):
                    found[place, q] = found[place - 1, q]
                place -= 1
            found[place, 0] = value
            found[place, 1] = v
            found[place, 2] = x1 if c >= columns else np.rint(x0 + c * pitch)
            found[place, 3] = y1 if r >= rows else np.rint(y0 + r * pitch)
            if count == keep:
                worst = np.float32(found[count - 1, 0])
    return count


@kernel
def move(
    i, length, sight, state, tries, at, kind, first_variant, window, variant_poly, polys, pitch, cell,
    pf, pi, first, near, edges, raster, px, py, poly, variant, weights, land, found, near_items, planes, work,
):
    """Moves shape i to the place of least weighted overlap that was found.

    Of the landscape's minima the ``tries`` lowest are tried. Where the strip is longer than ``sight``, only a
    stretch of it is looked at: round about the shape, or now and then somewhere else.
    """
    count = 0
    lo = 0.0
    hi = length
    if length > sight:
        middle = px[i]
        if random_unit(state) < ELSEWHERE:
            middle = random_unit(state) * length
        lo = min(max(0.0, middle - 0.5 * sight), length - sight)
        hi = lo + sight
    for v in range(first_variant[kind[i]], first_variant[kind[i] + 1]):
        x0 = max(window[v, 0], lo)
        x1 = min(length - window[v, 1], hi)
        y0 = window[v, 2]
        y1 = window[v, 3]
        if x1 < x0 or y1 < y0:
            continue
        columns, rows, stride = build_landscape(
            i, variant_poly[v], x0, x1, y0, y1, land, polys, pitch, pf, pi, raster, px, py, poly, weights,
            work,
        )
        count = collect_minima(land, columns, rows, stride, v, x0, x1, y0, y1, pitch, found, count, tries)
        work[0] += 0.0006 * stride * (rows + 1)
    v = variant[i]
    best_x = px[i]
    best_y = py[i]
    best_v = v
    best = refine(
        i, poly[i], px[i], py[i], np.inf,
        window[v, 0], length - window[v, 1], window[v, 2], window[v, 3],
        pitch, at, near_items, planes, polys, cell, pf, pi, first, near, edges, px, py, poly, weights,
        work,
    )
    best_x = at[0]
    best_y = at[1]
    for k in range(count):
        if best <= 0.0:
            break
        v = int(found[k, 1])
        if v == best_v and abs(found[k, 2] - best_x) < pitch and abs(found[k, 3] - best_y) < pitch:
            continue
        loss = refine(
            i, variant_poly[v], found[k, 2], found[k, 3], best,
            window[v, 0], length - window[v, 1], window[v, 2], window[v, 3],
            pitch, at, near_items, planes, polys, cell, pf, pi, first, near, edges, px, py, poly, weights,
            work,
        )
        if loss < best:
            best = loss
            best_x = at[0]
            best_y = at[1]
            best_v = v
    px[i] = best_x
    py[i] = best_y
    variant[i] = best_v
    poly[i] = variant_poly[best_v]
    work[1] += 1.0


# ---------------------------------------------------------------------------------------------------
# Placing a shape tied to lattices
#
# ``tie`` float64[variants, 8]: period (0: free), offset, sign, phase by index (-1: none) along x, then the
# same across. Places are offset + sign * phase + k * period, rounded. Problems without lattices have none
# of these arrays (None), and numba leaves out at compile time what it would do with them.


@kernel
def shift_of(tie, v, axis, phase):
    """Where the places of a variant begin along an axis, phase and offset together."""
    g = int(tie[v, 4 * axis + 3])
    shift = tie[v, 4 * axis + 1]
    if g >= 0:
        shift += tie[v, 4 * axis + 2] * phase[g]
    return shift


@kernel
def first_place(low, period, shift):
    """The least k whose place is not below low."""
    return np.ceil((low - NEARLY - shift) / period)


@kernel
def insert_found(found, count, keep, value, v, x, y):
    """Adds one place to found[k] = value, variant, x, y, least value first, if it is among the best."""
    if count == keep:
        if value >= found[count - 1, 0]:
            return count
    else:
        count += 1
    place = count - 1
    while place > 0 and found[place - 1, 0] > value:
        for q in range(4):
            found[place, q] = found[place - 1, q]
        place -= 1
    found[place, 0] = value
    found[place, 1] = v
    found[place, 2] = x
    found[place, 3] = y
    return count


@kernel
def settle(
    i, v, x, y, limit, x0, x1, y0, y1, tie, phase, loose, variant_poly, pitch, at, near_items, planes,
    polys, cell, pf, pi, first, near, edges, px, py, poly, weights, work,
):
    """Like ``refine``, for a tied variant: ends on its lattices.

    Along an axis whose period is less than ``loose`` it slides freely first, then tries the places on both
    sides; otherwise x or y must be a place, and stays.
    """
    p = variant_poly[v]
    tx = tie[v, 0]
    ty = tie[v, 4]
    free_x = tx < loose
    free_y = ty < loose
    if (tx > 0.0 and free_x) or (ty > 0.0 and free_y) or (tx == 0.0 and ty == 0.0):
        loss = refine(
            i, p, x, y, limit, x0 if free_x else x, x1 if free_x else x, y0 if free_y else y,
            y1 if free_y else y, pitch, at, near_items, planes, polys, cell, pf, pi, first, near, edges,
            px, py, poly, weights, work,
        )
        if (tx == 0.0 and ty == 0.0) or loss >= limit:
            return loss
        x = at[0]
        y = at[1]
    sx = shift_of(tie, v, 0, phase)
    sy = shift_of(tie, v, 1, phase)
    kx = first_place(x, tx, sx) if tx > 0.0 else 0.0
    ky = first_place(y, ty, sy) if ty > 0.0 else 0.0
    best = np.inf
    best_x = x
    best_y = y
    for a in range(2 if tx > 0.0 and free_x else 1):
        new_x = np.rint(sx + (kx - a) * tx) if tx > 0.0 and free_x else x
        if new_x < x0 or new_x > x1:
            continue
        for b in range(2 if ty > 0.0 and free_y else 1):
            new_y = np.rint(sy + (ky - b) * ty) if ty > 0.0 and free_y else y
            if new_y < y0 or new_y > y1:
                continue
            if tx > 0.0 and ty > 0.0:
                n = neighbours(i, p, new_x, new_y, 0.0, polys, pf, px, py, poly, near_items)
                loss = loss_at(
                    i, p, new_x, new_y, n, near_items, min(best, limit), polys, cell, pf, pi, first, near,
                    edges, px, py, poly, weights,
                )
                work[0] += 0.15 + 0.008 * px.shape[0]
                at[0] = new_x
                at[1] = new_y
            else:
                loss = refine(
                    i, p, new_x, new_y, min(best, limit), new_x if tx > 0.0 else x0,
                    new_x if tx > 0.0 else x1, new_y if ty > 0.0 else y0, new_y if ty > 0.0 else y1, pitch,
                    at, near_items, planes, polys, cell, pf, pi, first, near, edges, px, py, poly, weights,
                    work,
                )
            if loss < best:
                best = loss
                best_x = at[0]
                best_y = at[1]
    at[0] = best_x
    at[1] = best_y
    return best


@kernel
def look_round(
    i, v, x0, x1, y0, y1, tie, phase, loose, found, count, keep, variant_poly, polys, pitch, cell, pf, pi,
    first, near, edges, raster, px, py, poly, weights, land, near_items, work,
):
    """Adds the places of little overlap of one variant to ``found``; returns how many there are then.

    Along an axis whose period is at least ``loose`` they are places of the lattice.
    """
    p = variant_poly[v]
    tx = tie[v, 0]
    ty = tie[v, 4]
    if tx < loose and ty < loose:
        columns, rows, stride = build_landscape(
            i, p, x0, x1, y0, y1, land, polys, pitch, pf, pi, raster, px, py, poly, weights, work
        )
        work[0] += 0.0006 * stride * (rows + 1)
        return collect_minima(land, columns, rows, stride, v, x0, x1, y0, y1, pitch, found, count, keep)
    sx = shift_of(tie, v, 0, phase)
    sy = shift_of(tie, v, 1, phase)
    kx = first_place(x0, tx, sx) if tx >= loose else 0.0
    x = max(x0, np.rint(sx + kx * tx)) if tx >= loose else x0
    while x <= x1:
        ky = first_place(y0, ty, sy) if ty >= loose else 0.0
        y = max(y0, np.rint(sy + ky * ty)) if ty >= loose else y0
        while y <= y1:
            if tx >= loose and ty >= loose:
                n = neighbours(i, p, x, y, 0.0, polys, pf, px, py, poly, near_items)
                limit = found[count - 1, 0] if count == keep else np.inf
                loss = loss_at(
                    i, p, x, y, n, near_items, limit, polys, cell, pf, pi, first, near, edges, px, py, poly,
                    weights,
                )
                count = insert_found(found, count, keep, loss, v, x, y)
                work[0] += 0.15 + 0.008 * px.shape[0]
            else:
                to_x = x if tx >= loose else x1
                to_y = y if ty >= loose else y1
                columns, rows, stride = build_landscape(
                    i, p, x, to_x, y, to_y, land, polys, pitch, pf, pi, raster, px, py, poly, weights, work
                )
                work[0] += 0.4 + 0.0006 * stride * (rows + 1)
                count = collect_minima(
                    land, columns, rows, stride, v, x, to_x, y, to_y, pitch, found, count, keep
                )
            if ty < loose:
                break
            ky += 1.0
            y = np.rint(sy + ky * ty)
        if tx < loose:
            break
        kx += 1.0
        x = np.rint(sx + kx * tx)
    return count


@kernel
def move_tied(
    i, length, sight, state, tries, at, kind, first_variant, window, variant_poly, polys, pitch, cell,
    pf, pi, first, near, edges, raster, px, py, poly, variant, weights, land, found, near_items, planes, work,
    tie, phase,
):
    """``move`` for problems with lattices."""
    loose = LOOSE * pitch
    count = 0
    lo = 0.0
    hi = length
    if length > sight:
        middle = px[i]
        if random_unit(state) < ELSEWHERE:
            middle = random_unit(state) * length
        lo = min(max(0.0, middle - 0.5 * sight), length - sight)
        hi = lo + sight
    for v in range(first_variant[kind[i]], first_variant[kind[i] + 1]):
        x0 = max(window[v, 0], lo)
        x1 = min(length - window[v, 1], hi)
        y0 = window[v, 2]
        y1 = window[v, 3]
        if x1 < x0 or y1 < y0:
            continue
        count = look_round(
            i, v, x0, x1, y0, y1, tie, phase, loose, found, count, tries, variant_poly, polys, pitch, cell,
            pf, pi, first, near, edges, raster, px, py, poly, weights, land, near_items, work,
        )
    v = variant[i]
    best_v = v
    best = settle(
        i, v, px[i], py[i], np.inf, window[v, 0], length - window[v, 1], window[v, 2], window[v, 3], tie,
        phase, 1e-9, variant_poly, pitch, at, near_items, planes, polys, cell, pf, pi, first, near, edges,
        px, py, poly, weights, work,
    )
    best_x = at[0]
    best_y = at[1]
    for k in range(count):
        if best <= 0.0:
            break
        v = int(found[k, 1])
        if (
            tie[v, 0] == 0.0
            and tie[v, 4] == 0.0
            and v == best_v
            and abs(found[k, 2] - best_x) < pitch
            and abs(found[k, 3] - best_y) < pitch
        ):
            continue
        loss = settle(
            i, v, found[k, 2], found[k, 3], best, window[v, 0], length - window[v, 1], window[v, 2],
            window[v, 3], tie, phase, loose, variant_poly, pitch, at, near_items, planes, polys, cell, pf, pi,
            first, near, edges, px, py, poly, weights, work,
        )
        if loss < best:
            best = loss
            best_x = at[0]
            best_y = at[1]
            best_v = v
    px[i] = best_x
    py[i] = best_y
    variant[i] = best_v
    poly[i] = variant_poly[best_v]
    work[1] += 1.0


@kernel
def shift_group(g, axis, by, length, window, tie, period, phase, place, variant, members, m):
    """Adds ``by`` to a phase and moves its m members with it; False if one has no place in its window.

    A member that leaves its window comes in again on the other side. ``place`` is x or y of all shapes.
    """
    new = (phase[g] + by) % period[g]
    for a in range(m):
        i = members[a]
        v = variant[i]
        low = window[v, 2 * axis]
        high = window[v, 3] if axis == 1 else length - window[v, 1]
        t = tie[v, 4 * axis]
        sign = tie[v, 4 * axis + 2]
        k = np.rint((place[i] - tie[v, 4 * axis + 1] - sign * phase[g]) / t)
        shift = tie[v, 4 * axis + 1] + sign * new
        # The phase may have gone round: the nearest k to where the shape would be by its step.
        k = np.rint((tie[v, 4 * axis + 1] + sign * (phase[g] + by) + k * t - shift) / t)
        k_lo = first_place(low, t, shift)
        k_hi = np.floor((high + NEARLY - shift) / t)
        if k_hi < k_lo:
            return False
        k = max(k_lo, min(k_hi, k))
        place[i] = min(high, max(low, np.rint(shift + k * t)))
    phase[g] = new
    return True


@kernel
def group_loss(
    m, members, col, g, limit, tie, movable, polys, cell, pf, pi, first, near, edges, px, py, poly, variant,
    weights, links, weight,
):
    """Weighted overlap of the m members of a group with all others and each other; stops above limit."""
    total = 0.0
    for a in range(m):
        i = members[a]
        for k in range(links[i, 0]):
            weights[links[i, 1 + k]] = weight[i, k]
        for j in range(px.shape[0]):
            if j == i or (j < i and tie[variant[j], col] == g):
                continue
            row = poly[j] * polys + poly[i]
            d = depth_at(row, px[i] - px[j], py[i] - py[j], cell, pf, pi, first, near, edges)
            if d > 0.0:
                total += d * pf[row, 8] * weights[j]
        for k in range(links[i, 0]):
            weights[links[i, 1 + k]] = 1.0
        if total >= limit:
            break
    return total


@kernel
def shift_phases(
    length, movable, state, members, spare, window, tie, period, along, phase, polys, cell, pf, pi, first,
    near, edges, px, py, poly, variant, weights, links, overlap, weight, work,
):
    """Moves whole groups, each by its phase, as long as that lowers their weighted overlap.

    Steps are halved from a random part of the period down; a step that helps is taken again, twice as
    long. ``members``, ``spare``: room for all shapes.
    """
    for g in range(phase.shape[0]):
        axis = 0 if g < along else 1
        col = 4 * axis + 3
        place = px if axis == 0 else py
        m = 0
        touched = 0.0
        for i in range(movable):
            if tie[variant[i], col] == g:
                members[m] = i
                m += 1
                for k in range(links[i, 0]):
                    touched += overlap[i, k]
        if m == 0 or touched <= 0.0:
            continue
        best = group_loss(
            m, members, col, g, np.inf, tie, movable, polys, cell, pf, pi, first, near, edges, px, py, poly,
            variant, weights, links, weight,
        )
        moved = False
        step = period[g] * (0.25 + 0.25 * random_unit(state))
        while step >= 1.0 and best > 0.0:
            better = False
            for way in range(2):
                old = phase[g]
                for a in range(m):
                    spare[a] = place[members[a]]
                loss = np.inf
                if shift_group(
                    g, axis, step if way == 0 else -step, length, window, tie, period, phase, place, variant,
                    members, m,
                ):
                    loss = group_loss(
                        m, members, col, g, best, tie, movable, polys, cell, pf, pi, first, near, edges, px,
                        py, poly, variant, weights, links, weight,
                    )
                    work[0] += 0.006 * m * px.shape[0]
                work[0] += 0.1 + 0.01 * m
                if loss < best:
                    best = loss
                    better = True
                    moved = True
                    break
                phase[g] = old
                for a in range(m):
                    place[members[a]] = spare[a]
            step *= 2.0 if better and step < 0.5 * period[g] else 0.5
        if moved:
            for a in range(m):
                forget(members[a], movable, links, overlap)
            for a in range(m):
                update_overlaps(
                    members[a], 0, movable, polys, cell, pf, pi, first, near, edges, px, py, poly, links,
                    overlap, weight,
                )


# ---------------------------------------------------------------------------------------------------
# Separation


@kernel
def link(i, j, links, overlap, weight):
    """The column of partner j in the short list of shape i, where it is entered if need be; -1: no room.

    A pair is in the list while it overlaps or its weight is above 1: ``links`` int32[n, 1 + most] holds how
    many and which partners, ``overlap`` and ``weight`` float32[n, most] what belongs to them. Where the
    list is full, the lightest pair that does not overlap makes room.
    """
    n = links[i, 0]
    for m in range(n):
        if links[i, 1 + m] == j:
            return m
    place = n
    if n == overlap.shape[1]:
        place = -1
        for m in range(n):
            if overlap[i, m] == 0.0 and (place < 0 or weight[i, m] < weight[i, place]):
                place = m
        if place < 0:
            return place
    else:
        links[i, 0] = n + 1
    links[i, 1 + place] = j
    overlap[i, place] = 0.0
    weight[i, place] = 1.0
    return place


@kernel
def update_overlaps(
    i, begin, movable, polys, cell, pf, pi, first, near, edges, px, py, poly, links, overlap, weight
):
    """Overlap (depth times the pair's own weight) of shape i with those from ``begin`` on, on both lists.

    What the lists have must be of the others only (``forget``). Returns the sum.
    """
    total = 0.0
    for j in range(begin, px.shape[0]):
        if j == i:
            continue
        row = poly[j] * polys + poly[i]
        d = depth_at(row, px[i] - px[j], py[i] - py[j], cell, pf, pi, first, near, edges) * pf[row, 8]
        if d > 0.0:
            total += d
            m = link(i, j, links, overlap, weight)
            if m >= 0:
                overlap[i, m] = d
            if j < movable:
                m = link(j, i, links, overlap, weight)
                if m >= 0:
                    overlap[j, m] = d
    return total


@kernel
def forget(i, movable, links, overlap):
    """Sets the overlaps of shape i to zero in all lists."""
    for m in range(links[i, 0]):
        if overlap[i, m] == 0.0:
            continue
        overlap[i, m] = 0.0
        j = links[i, 1 + m]
        if j < movable:
            for k in range(links[j, 0]):
                if links[j, 1 + k] == i:
                    overlap[j, k] = 0.0
                    break


@kernel
def update_all(movable, polys, cell, pf, pi, first, near, edges, px, py, poly, links, overlap, weight, work):
    """All overlaps from scratch, all weights 1; returns the sum of overlaps."""
    links[:, 0] = 0
    total = 0.0
    for i in range(movable):
        total += update_overlaps(
            i, i + 1, movable, polys, cell, pf, pi, first, near, edges, px, py, poly, links, overlap, weight
        )
        work[0] += PAIR * (px.shape[0] - i)
    return total


@kernel
def reweigh(most, growth, worst, decay, links, overlap, weight):
    """Weights of pairs that overlap grow, those of others decay; pairs that need none leave the lists."""
    for i in range(links.shape[0]):
        kept = 0
        for m in range(links[i, 0]):
            o = overlap[i, m]
            w = weight[i, m]
            if o > 0.0:
                w *= growth + worst * o / most
            else:
                w *= decay
                if w <= 1.0:
                    continue
            links[i, 1 + kept] = links[i, 1 + m]
            overlap[i, kept] = o
            weight[i, kept] = w
            kept += 1
        links[i, 0] = kept


@kernel
def separate(
    length, sight, patience, work_limit, control, order, state, tries, kind, first_variant, window,
    variant_poly, polys, pitch, cell, pf, pi, first, near, edges, raster, px, py, poly, variant, weights,
    links, overlap, weight, best_x, best_y, best_variant, land, found, near_items, planes, at, work,
    free, tie=None, period=None, along=0, phase=None, best_phase=None, spare=None,
):
    """Moves overlapping shapes about until none overlap (1), progress ends (2), or work runs out (0).

    Guided local search (Voudouris & Tsang 1999; for nesting Egeblad, Nielsen & Odgaard 2007): weights of
    pairs that still overlap grow after each pass, the others decay. Can be resumed: ``control`` holds
    position in the pass, shapes in the pass, least total, passes without progress, passes, the total that
    progress is measured by; then least growth of a weight, growth in proportion to overlap, decay.
    ``best_x``, ``best_y``, ``best_variant``, ``best_phase`` keep the layout of least total overlap.
    ``weights`` float32[everything] is 1 throughout, but for the pairs of the shape that is being moved.
    ``free`` is a number where there are no lattices, else None: what is None is left out when compiling.
    """
    movable = kind.shape[0]
    everything = px.shape[0]
    while True:
        if control[0] >= control[1]:
            if tie is not None and control[4] > 0.0:
                shift_phases(
                    length, movable, state, order, spare, window, tie, period, along, phase, polys, cell, pf,
                    pi, first, near, edges, px, py, poly, variant, weights, links, overlap, weight, work,
                )
            n = 0
            total = 0.0
            most = 0.0
            for i in range(movable):
                mine = 0.0
                for m in range(links[i, 0]):
                    o = overlap[i, m]
                    mine += o
                    if links[i, 1 + m] > i:
                        total += o
                        most = max(most, o)
                if mine > 0.0:
                    order[n] = i
                    n += 1
            if control[4] == 0.0 or total < control[2]:
                if control[4] == 0.0 or total < 0.98 * control[5]:
                    control[3] = 0.0
                    control[5] = total
                control[2] = total
                best_x[:] = px[:movable]
                best_y[:] = py[:movable]
                best_variant[:] = variant
                if tie is not None:
                    best_phase[:] = phase
            if n == 0:
                return 1
            if control[3] >= patience:
                return 2
            if control[4] > 0.0:
                reweigh(most, control[6], control[7], control[8], links, overlap, weight)
            for m in range(n - 1, 0, -1):
                k = int(random_unit(state) * (m + 1))
                order[m], order[k] = order[k], order[m]
            control[0] = 0.0
            control[1] = n
            control[3] += 1.0
            control[4] += 1.0
        while control[0] < control[1]:
            i = order[int(control[0])]
            control[0] += 1.0
            mine = 0.0
            for m in range(links[i, 0]):
                mine += overlap[i, m]
                weights[links[i, 1 + m]] = weight[i, m]
            if mine > 0.0:
                if tie is not None:
                    move_tied(
                        i, length, sight, state, tries, at, kind, first_variant, window, variant_poly,
                        polys, pitch, cell, pf, pi, first, near, edges, raster, px, py, poly, variant,
                        weights, land, found, near_items, planes, work, tie, phase,
                    )
                if free is not None:
                    move(
                        i, length, sight, state, tries, at, kind, first_variant, window, variant_poly,
                        polys, pitch, cell, pf, pi, first, near, edges, raster, px, py, poly, variant,
                        weights, land, found, near_items, planes, work,
                    )
            for m in range(links[i, 0]):
                weights[links[i, 1 + m]] = 1.0
            if mine <= 0.0:
                continue
            forget(i, movable, links, overlap)
            update_overlaps(
                i, 0, movable, polys, cell, pf, pi, first, near, edges, px, py, poly, links, overlap, weight
            )
            work[0] += 0.006 * everything
            if work[0] >= work_limit:
                return 0


# ---------------------------------------------------------------------------------------------------
# Start


@kernel
def slide(
    i, p, x, y, x_lo, x_hi, y_lo, y_hi, span, at, near_items, polys, cell, pf, pi, first, near, edges, px,
    py, poly, weights,
):
    """Pushes a shape that overlaps nothing left and down by turns as far as it goes; writes at[0:2]."""
    for turn in range(6):
        step = span
        n = neighbours(i, p, x, y, 4.0 * span, polys, pf, px, py, poly, near_items)
        gone = 0.0
        while step >= 1.0:
            new_x = x
            new_y = y
            if turn % 2 == 0:
                new_x = max(x_lo, np.rint(x - step))
            else:
                new_y = max(y_lo, np.rint(y - step))
            if (
                (new_x < x or new_y < y)
                and gone + step < 4.0 * span
                and loss_at(
                    i, p, new_x, new_y, n, near_items, 1e-9, polys, cell, pf, pi, first, near, edges, px,
                    py, poly, weights,
                )
                <= 0.0
            ):
                gone += x - new_x + y - new_y
                x = new_x
                y = new_y
                continue
            step *= 0.5
    at[0] = x
    at[1] = y


@kernel
def construct(
    order, begin, kind, first_variant, window, variant_poly, box, polys, pitch, cell, pf, pi, first,
    near, edges, raster, px, py, poly, variant, weights, found, near_items, planes, at, work,
):
    """Lays shapes one after the other, each where it ends farthest left; returns the length used.

    ``box`` float64[variants, 2] is the size of each variant's box; ``begin`` the right end of all obstacles.
    Shapes to be laid must start out of reach (x very negative). Where a variant found no place, the next of
    its kind finds none either, so it looks only from there on.
    """
    full = np.full(window.shape[0], -np.inf)
    end = begin
    length = 0.0
    for m in range(order.shape[0]):
        i = order[m]
        best_end = np.inf
        best_x = 0.0
        best_y = 0.0
        best_v = -1
        for v in range(first_variant[kind[i]], first_variant[kind[i] + 1]):
            p = variant_poly[v]
            x0 = window[v, 0]
            y0 = window[v, 2]
            y1 = window[v, 3]
            if y1 < y0:
                continue
            x1 = max(x0, end)
            # Behind everything there is always room.
            if x1 + window[v, 1] < best_end:
                best_end = x1 + window[v, 1]
                best_x = x1
                best_y = y0
                best_v = v
            x0 = max(x0, min(full[v], x1))
            size = (int((x1 - x0) / pitch) + 3 + 2 * BLOCK) * (int((y1 - y0) / pitch) + 5)
            land = np.empty(size, dtype=np.float32)
            columns, rows, stride = build_landscape(
                i, p, x0, x1, y0, y1, land, polys, pitch, pf, pi, raster, px, py, poly, weights, work
            )
            work[0] += 0.0006 * stride * (rows + 1)
            for c in range(columns + 1):
                x = x0 + c * pitch if c < columns else x1
                if x + window[v, 1] - pitch >= best_end:
                    break
                full[v] = np.floor(x)
                low = np.float32(0.35 * pitch)
                at_row = -1
                for r in range(rows + 1):
                    if land[(r + 1) * stride + c] < low:
                        low = land[(r + 1) * stride + c]
                        at_row = r
                if at_row < 0:
                    continue
                y = y0 + at_row * pitch if at_row < rows else y1
                loss = refine(
                    i, p, np.rint(x), min(y1, np.rint(y)), np.inf, window[v, 0], x1, y0, y1, pitch,
                    at, near_items, planes, polys, cell, pf, pi, first, near, edges,
                    px, py, poly, weights, work,
                )
                if loss > 0.0:
                    continue
                slide(
                    i, p, at[0], at[1], window[v, 0], x1, y0, y1, pitch, at, near_items, polys, cell, pf, pi,
                    first, near, edges, px, py, poly, weights,
                )
                work[0] += 10.0
                if at[0] + window[v, 1] < best_end:
                    best_end = at[0] + window[v, 1]
                    best_x = at[0]
                    best_y = at[1]
                    best_v = v
                break
        px[i] = best_x
        py[i] = best_y
        variant[i] = best_v
        poly[i] = variant_poly[best_v]
        end = max(end, best_x + box[best_v, 0])
        length = max(length, best_end)
    return length


@kernel
def leftmost(
    i, v, x0, x1, y0, y1, end_limit, tie, phase, loose, window, variant_poly, polys, pitch, cell, pf, pi,
    first, near, edges, raster, px, py, poly, weights, near_items, planes, at, work,
):
    """The place farthest left of one variant where it overlaps nothing, into at[0:2]; False if none is found.

    Looks only where the variant ends before ``end_limit``.
    """
    p = variant_poly[v]
    tx = tie[v, 0]
    ty = tie[v, 4]
    sx = shift_of(tie, v, 0, phase)
    sy = shift_of(tie, v, 1, phase)
    land = np.empty(
        (int((x1 - x0) / pitch) + 3 + 2 * BLOCK) * (int((y1 - y0) / pitch) + 5), dtype=np.float32
    )
    best_x = np.inf
    best_y = 0.0
    by_rows = ty >= loose
    ky = first_place(y0, ty, sy) if by_rows else 0.0
    from_y = max(y0, np.rint(sy + ky * ty)) if by_rows else y0
    while from_y <= y1:
        to_y = from_y if by_rows else y1
        by_columns = tx >= loose
        columns, rows, stride = 0, 0, 0
        if not by_columns:
            columns, rows, stride = build_landscape(
                i, p, x0, x1, from_y, to_y, land, polys, pitch, pf, pi, raster, px, py, poly, weights, work
            )
        kx = first_place(x0, tx, sx) if by_columns else 0.0
        c = 0
        while c <= columns:
            if by_columns:
                x = max(x0, np.rint(sx + kx * tx))
                kx += 1.0
                if x > x1 or x + window[v, 1] >= end_limit or x >= best_x:
                    break
                columns, rows, stride = build_landscape(
                    i, p, x, x, from_y, to_y, land, polys, pitch, pf, pi, raster, px, py, poly, weights, work
                )
                at_c = 0
            else:
                x = np.rint(x0 + c * pitch) if c < columns else x1
                at_c = c
                c += 1
                if x + window[v, 1] - pitch >= end_limit or x - pitch >= best_x:
                    break
            low = np.float32(0.35 * pitch)
            at_row = -1
            for r in range(rows + 1):
                if land[(r + 1) * stride + at_c] < low:
                    low = land[(r + 1) * stride + at_c]
                    at_row = r
            if at_row < 0:
                continue
            y = min(to_y, np.rint(from_y + at_row * pitch)) if at_row < rows else to_y
            loss = settle(
                i, v, x, y, np.inf, x0, x1, y0, y1, tie, phase, loose, variant_poly, pitch, at, near_items,
                planes, polys, cell, pf, pi, first, near, edges, px, py, poly, weights, work,
            )
            if loss > 0.0:
                continue
            if tx == 0.0 or ty == 0.0:
                slide(
                    i, p, at[0], at[1], at[0] if tx > 0.0 else x0, at[0] if tx > 0.0 else x1,
                    at[1] if ty > 0.0 else y0, at[1] if ty > 0.0 else y1, pitch, at, near_items, polys, cell,
                    pf, pi, first, near, edges, px, py, poly, weights,
                )
            if at[0] < best_x:
                best_x = at[0]
                best_y = at[1]
            break
        if not by_rows:
            break
        ky += 1.0
        from_y = np.rint(sy + ky * ty)
    at[0] = best_x
    at[1] = best_y
    return best_x < np.inf


@kernel
def construct_tied(
    order, begin, kind, first_variant, window, variant_poly, box, polys, pitch, cell, pf, pi, first,
    near, edges, raster, px, py, poly, variant, weights, found, near_items, planes, at, work, lattices, phase,
    unset,
):
    """``construct`` for problems with lattices; each kind must have a place at these phases.

    The phases that are ``unset`` bool[phases] become those that suit the first shape of the group.
    """
    tie = lattices.copy()
    for v in range(tie.shape[0]):
        for axis in range(2):
            g = int(tie[v, 4 * axis + 3])
            if g >= 0 and unset[g]:
                tie[v, 4 * axis] = 0.0
    end = begin
    length = 0.0
    for m in range(order.shape[0]):
        i = order[m]
        best_end = np.inf
        best_x = 0.0
        best_y = 0.0
        best_v = -1
        for v in range(first_variant[kind[i]], first_variant[kind[i] + 1]):
            x0 = window[v, 0]
            y0 = window[v, 2]
            y1 = window[v, 3]
            x1 = max(x0, end)
            if tie[v, 0] > 0.0:
                shift = shift_of(tie, v, 0, phase)
                x1 = max(x1, np.rint(shift + first_place(x1, tie[v, 0], shift) * tie[v, 0]))
            y = y0
            if tie[v, 4] > 0.0:
                shift = shift_of(tie, v, 1, phase)
                y = max(y0, np.rint(shift + first_place(y0, tie[v, 4], shift) * tie[v, 4]))
            if y > y1:
                continue
            # Behind everything there is always room.
            if x1 + window[v, 1] < best_end:
                best_end = x1 + window[v, 1]
                best_x = x1
                best_y = y
                best_v = v
            if leftmost(
                i, v, x0, x1, y0, y1, best_end, tie, phase, LOOSE * pitch, window, variant_poly, polys,
                pitch, cell, pf, pi, first, near, edges, raster, px, py, poly, weights, near_items, planes,
                at, work,
            ) and at[0] + window[v, 1] < best_end:
                best_end = at[0] + window[v, 1]
                best_x = at[0]
                best_y = at[1]
                best_v = v
        for axis in range(2):
            g = int(tie[best_v, 4 * axis + 3])
            if g < 0 or not unset[g]:
                continue
            place = best_x if axis == 0 else best_y
            sign = tie[best_v, 4 * axis + 2]
            phase[g] = (sign * (place - tie[best_v, 4 * axis + 1])) % lattices[best_v, 4 * axis]
            unset[g] = False
            for v in range(tie.shape[0]):
                if int(tie[v, 4 * axis + 3]) == g:
                    tie[v, 4 * axis] = lattices[v, 4 * axis]
        px[i] = best_x
        py[i] = best_y
        variant[i] = best_v
        poly[i] = variant_poly[best_v]
        end = max(end, best_x + box[best_v, 0])
        length = max(length, best_end)
    return length
