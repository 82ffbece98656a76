"""Compiled loops of the rasteriser: which triangle each pixel sees, and how light falls on it."""

from typing import no_type_check

import numpy as np

from dressform.mesh.jit import jit

OCCLUSION_SAMPLES = 12
SHADOW_TAPS = 4
WRAP = 0.2  # how far past the edge of its half-space a light still reaches
SHOULDER = 0.55  # linear light above this is pressed together, so that pale cloth keeps its folds
INNER_SHARE = 0.6  # light on the back of a triangle


@jit
@no_type_check
def rasterise(screen, key, weight, faces, near, width, height):
    """Nearest triangle of each pixel: its index (-1 for none), two perspective-correct barycentrics and the key.

    `key` grows towards the eye and is linear on the screen; `weight` is 1 over depth (1 in a parallel projection).
    """
    seen = np.full((height, width), -1, dtype=np.int32)
    first = np.zeros((height, width), dtype=np.float32)
    second = np.zeros((height, width), dtype=np.float32)
    nearest = np.full((height, width), -np.inf)
    for face in range(len(faces)):
        a, b, c = faces[face]
        if screen[a, 2] < near or screen[b, 2] < near or screen[c, 2] < near:
            continue
        ax, ay = screen[a, 0], screen[a, 1]
        bx, by = screen[b, 0], screen[b, 1]
        cx, cy = screen[c, 0], screen[c, 1]
        area = (bx - ax) * (cy - ay) - (cx - ax) * (by - ay)
        if area == 0.0:
            continue
        left = max(0, int(np.ceil(min(ax, bx, cx) - 0.5)))
        right = min(width - 1, int(np.floor(max(ax, bx, cx) - 0.5)))
        top = max(0, int(np.ceil(min(ay, by, cy) - 0.5)))
        bottom = min(height - 1, int(np.floor(max(ay, by, cy) - 0.5)))
        for row in range(top, bottom + 1):
            y = row + 0.5
            for column in range(left, right + 1):
                x = column + 0.5
                u = ((bx - x) * (cy - y) - (cx - x) * (by - y)) / area
                v = ((cx - x) * (ay - y) - (ax - x) * (cy - y)) / area
                w = 1.0 - u - v
                if u < 0.0 or v < 0.0 or w < 0.0:
                    continue
                depth = u * key[a] + v * key[b] + w * key[c]
                if depth > nearest[row, column]:
                    nearest[row, column] = depth
                    seen[row, column] = face
                    total = u * weight[a] + v * weight[b] + w * weight[c]
                    first[row, column] = u * weight[a] / total
                    second[row, column] = v * weight[b] / total
    return seen, first, second, nearest


@jit
@no_type_check
def surface(seen, first, second, faces, vertices, normals, flat, eye, forward, perspective):
    """Position, unit normal turned to the viewer, and whether the back of the triangle is seen, per pixel."""
    height, width = seen.shape
    positions = np.zeros((height, width, 3), dtype=np.float32)
    facing = np.zeros((height, width, 3), dtype=np.float32)
    inner = np.zeros((height, width), dtype=np.bool_)
    for row in range(height):
        for column in range(width):
            face = seen[row, column]
            if face < 0:
                continue
            a, b, c = faces[face, 0], faces[face, 1], faces[face, 2]
            u, v = first[row, column], second[row, column]
            w = 1.0 - u - v
            towards, length = 0.0, 0.0
            for axis in range(3):
                point = u * vertices[a, axis] + v * vertices[b, axis] + w * vertices[c, axis]
                normal = u * normals[a, axis] + v * normals[b, axis] + w * normals[c, axis]
                view = eye[axis] - point if perspective else -forward[axis]
                towards += flat[face, axis] * view
                length += normal * normal
                positions[row, column, axis] = point
                facing[row, column, axis] = normal
            inner[row, column] = towards < 0.0
            scale = (-1.0 if towards < 0.0 else 1.0) / max(np.sqrt(length), 1e-12)
            for axis in range(3):
                facing[row, column, axis] *= scale
    return positions, facing, inner


@jit
@no_type_check
def occlusion(seen, positions, facing, pixels, reach):
    """Share of the near surroundings that a pixel's hemisphere sees blocked, in [0, 1], judged on the screen."""
    height, width = seen.shape
    blocked = np.zeros((height, width), dtype=np.float32)
    for row in range(height):
        for column in range(width):
            if seen[row, column] < 0:
                continue
            turn = 6.2831853 * ((52.9829189 * ((0.06711056 * column + 0.00583715 * row) % 1.0)) % 1.0)
            px, py, pz = positions[row, column, 0], positions[row, column, 1], positions[row, column, 2]
            nx, ny, nz = facing[row, column, 0], facing[row, column, 1], facing[row, column, 2]
            total = 0.0
            for sample in range(OCCLUSION_SAMPLES):
                angle = turn + 2.3999632 * sample
                radius = pixels * np.sqrt((sample + 0.5) / OCCLUSION_SAMPLES)
                y = row + int(radius * np.sin(angle))
                x = column + int(radius * np.cos(angle))
                if y < 0 or y >= height or x < 0 or x >= width or seen[y, x] < 0:
                    continue
                dx = positions[y, x, 0] - px
                dy = positions[y, x, 1] - py
                dz = positions[y, x, 2] - pz
                length = np.sqrt(dx * dx + dy * dy + dz * dz) + 1e-6
                rise = (dx * nx + dy * ny + dz * nz) / length
                fade = max(0.0, 1.0 - (length / (2.0 * reach)) ** 2)
                total += max(0.0, rise - 0.12) * fade
            blocked[row, column] = min(1.0, 2.2 * total / OCCLUSION_SAMPLES)
    return blocked


@jit
@no_type_check
def smooth_along(seen, values, positions, reach):
    """Mean over a 5 x 5 window of the pixels that lie on the same stretch of surface."""
    height, width = seen.shape
    smoothed = values.copy()
    for row in range(height):
        for column in range(width):
            if seen[row, column] < 0:
                continue
            total, count = 0.0, 0
            for y in range(max(0, row - 2), min(height, row + 3)):
                for x in range(max(0, column - 2), min(width, column + 3)):
                    if seen[y, x] < 0:
                        continue
                    step = 0.0
                    for axis in range(3):
                        step += abs(positions[y, x, axis] - positions[row, column, axis])
                    if step < reach:
                        total += values[y, x]
                        count += 1
            smoothed[row, column] = total / count
    return smoothed


@jit
@no_type_check
def light_reaching(seen, positions, facing, shade_key, matrix, offset, bias):
    """Share of the main light that reaches each pixel: a depth map seen from the light, averaged over taps."""
    height, width = seen.shape
    size = shade_key.shape[0]
    lifted, local = np.zeros(3), np.zeros(3)
    light = np.ones((height, width), dtype=np.float32)
    for row in range(height):
        for column in range(width):
            if seen[row, column] < 0:
                continue
            for axis in range(3):
                lifted[axis] = positions[row, column, axis] + bias * facing[row, column, axis]
            for axis in range(3):
                local[axis] = offset[axis]
                for other in range(3):
                    local[axis] += matrix[axis, other] * lifted[other]
            turn = 6.2831853 * ((52.9829189 * ((0.06711056 * column + 0.00583715 * row) % 1.0)) % 1.0)
            open_ = 0.0
            for tap in range(SHADOW_TAPS):
                angle = turn + 1.5707963 * tap
                radius = 0.8 + 0.9 * tap
                x, y = int(local[0] + radius * np.cos(angle)), int(local[1] + radius * np.sin(angle))
                outside = x < 0 or y < 0 or x >= size or y >= size
                if outside or shade_key[y, x] <= local[2] + 0.5 * bias:
                    open_ += 1.0
            light[row, column] = open_ / SHADOW_TAPS
    return light


@jit
@no_type_check
def shade(
    seen, first, second, faces, colours, gloss, positions, facing, inner, occluded, lit,
    directions, strengths, sky, ground, eye, forward, perspective, backdrop,
):  # fmt: skip
    """Linear colour of each pixel: hemisphere light, three wrapped lights, highlight and a faint rim."""
    image = backdrop.copy()
    height, width = seen.shape
    view, wrapped, reached = np.zeros(3), np.zeros(3), np.zeros(3)
    for row in range(height):
        for column in range(width):
            face = seen[row, column]
            if face < 0:
                continue
            a, b, c = faces[face, 0], faces[face, 1], faces[face, 2]
            u, v = first[row, column], second[row, column]
            w = 1.0 - u - v
            nx, ny, nz = facing[row, column, 0], facing[row, column, 1], facing[row, column, 2]
            for axis in range(3):
                view[axis] = eye[axis] - positions[row, column, axis] if perspective else -forward[axis]
            view /= np.sqrt(view[0] ** 2 + view[1] ** 2 + view[2] ** 2)
            shine = u * gloss[a] + v * gloss[b] + w * gloss[c]
            upward = 0.5 + 0.5 * ny
            clear = 1.0 - occluded[row, column]
            rim = (1.0 - max(0.0, nx * view[0] + ny * view[1] + nz * view[2])) ** 4
            highlight = 0.0
            for light in range(3):
                lx, ly, lz = directions[light, 0], directions[light, 1], directions[light, 2]
                reached[light] = lit[row, column] if light == 0 else 1.0
                wrapped[light] = max(0.0, (nx * lx + ny * ly + nz * lz + WRAP) / (1.0 + WRAP))
                hx, hy, hz = lx + view[0], ly + view[1], lz + view[2]
                aligned = (nx * hx + ny * hy + nz * hz) / max(np.sqrt(hx * hx + hy * hy + hz * hz), 1e-9)
                if aligned > 0.0:
                    highlight += strengths[light, 1] * reached[light] * aligned ** (12.0 + 70.0 * shine)
            highlight *= (0.03 + 0.35 * shine) * clear
            for channel in range(3):
                albedo = u * colours[a, channel] + v * colours[b, channel] + w * colours[c, channel]
                amount = (ground[channel] + (sky[channel] - ground[channel]) * upward) * clear
                for light in range(3):
                    amount += strengths[light, channel] * wrapped[light] * reached[light] * (0.35 + 0.65 * clear)
                if inner[row, column]:
                    amount *= INNER_SHARE
                value = albedo * amount + 0.05 * rim * sky[channel] * clear + highlight
                if value > SHOULDER:
                    value = SHOULDER + (1.0 - SHOULDER) * (1.0 - np.exp((SHOULDER - value) / (1.0 - SHOULDER)))
                image[row, column, channel] = value
    return image
