/* dressform_follow.h: plays the morph targets of a fitted GLB. C99, no library but string.h, no allocation.
 *
 * SPDX-License-Identifier: Apache-2.0
 *
 * In one source file of yours:
 *
 *     #define DRESSFORM_FOLLOW_IMPLEMENTATION
 *     #include "dressform_follow.h"
 *
 * and in all others the include alone. Then, with the bytes of a file in memory:
 *
 *     size_t need;
 *     dressform_file file;
 *     dressform_cloth cloth;
 *     if (dressform_file_size(glb, size, &need) == DRESSFORM_OK &&
 *         dressform_file_open(&file, glb, size, malloc(need), need) == DRESSFORM_OK &&
 *         dressform_cloth_size(&file, 0, 0, DRESSFORM_POSITION, &need) == DRESSFORM_OK &&
 *         dressform_cloth_open(&cloth, &file, 0, 0, DRESSFORM_POSITION, malloc(need), need) == DRESSFORM_OK) {
 *         dressform_follow(&cloth, weights, cloth.target_count);   (each time that a slider has moved)
 *         ... cloth.points, of which dressform_next_run tells the stretches that have changed
 *     }
 *
 * Every call says what came of it; dressform_says puts that into words. Damaged files are refused, never followed.
 * A cloth holds copies: once it is open, file and bytes may go. Nothing is shared, so cloths may be followed in as many
 * threads as there are cloths. See runtime/README.md for the guarantees, the layout and how both are tested.
 */
#ifndef DRESSFORM_FOLLOW_H
#define DRESSFORM_FOLLOW_H

#include <stddef.h>
#include <stdint.h>

#ifdef __cplusplus
extern "C" {
#endif

/* Vertices are followed in blocks. A target keeps the blocks that it moves, and no others. */
#define DRESSFORM_BLOCK 32u
#define DRESSFORM_BLOCK_FLOATS (3u * DRESSFORM_BLOCK)
/* The most targets of one primitive. More are taken for a damaged file; define another limit before the include. */
#ifndef DRESSFORM_MOST_TARGETS
#define DRESSFORM_MOST_TARGETS 4096u
#endif
#define DRESSFORM_NONE 0xffffffffu

typedef enum dressform_status {
    DRESSFORM_OK = 0,
    DRESSFORM_NOT_GLB,      /* no binary glTF 2.0 */
    DRESSFORM_CUT_SHORT,    /* ends before it should */
    DRESSFORM_DAMAGED_JSON, /* no valid JSON where it was read, or nested deeper than 64 levels */
    DRESSFORM_DAMAGED,      /* numbers, counts or indices that do not go together */
    DRESSFORM_NOT_FINITE,   /* a position is no finite number */
    DRESSFORM_ELSEWHERE,    /* the data are in another file */
    DRESSFORM_COMPRESSED,   /* the data are compressed */
    DRESSFORM_NOT_THERE,    /* no such mesh, primitive, attribute or target */
    DRESSFORM_TOO_LARGE,    /* more targets than the limit, or more bytes than can be addressed */
    DRESSFORM_NEEDS_MEMORY, /* less memory given than the size that was told */
    DRESSFORM_BAD_WEIGHTS   /* not one finite weight per target */
} dressform_status;

typedef enum dressform_field { DRESSFORM_POSITION, DRESSFORM_NORMAL } dressform_field;

typedef struct dressform_view {
    size_t offset, length, stride; /* in the binary chunk, bytes; stride 0 where the file names none */
    dressform_status status;       /* why it cannot be read, where it cannot */
} dressform_view;

typedef struct dressform_accessor {
    uint32_t view, count, component, width, is_normalised;
    size_t offset;
    uint32_t sparse_count, index_view, index_component, value_view;
    size_t index_offset, value_offset;
} dressform_accessor;

/* A GLB whose tables have been read. Points into the caller's bytes and memory. */
typedef struct dressform_file {
    const unsigned char *json, *binary;
    size_t json_size, binary_size;
    dressform_view *views;
    dressform_accessor *accessors;
    size_t *meshes; /* where in the JSON each begins */
    uint32_t view_count, accessor_count, mesh_count;
} dressform_file;

/* One attribute of one primitive, laid out for following. Read what you like; write nothing. */
typedef struct dressform_cloth {
    uint32_t vertex_count, target_count, block_count;
    float *points; /* x, y, z of each vertex as it is now; room for block_count * DRESSFORM_BLOCK_FLOATS */
    float *base;   /* the same where every weight is 0 */
    uint32_t *slots; /* target * block_count + block: which piece of `deltas` moves it; 0 where none does */
    float *deltas;   /* pieces of DRESSFORM_BLOCK_FLOATS; piece 0 is unused and zero */
    uint32_t piece_count;
    float *weights;          /* as of the last call, target_count */
    unsigned char *changed;  /* 1 for each block that the last call changed, block_count */
    uint32_t *active;        /* targets whose weight is not 0, in rising order; active_count of them */
    float *active_weights;
    uint32_t active_count;
    const float **sources; /* room to work in, as is the next */
    float *factors;
} dressform_cloth;

/* Sliders that several targets share: weight of target t = sum over s of slider s times rows[s * target_count + t]. */
typedef struct dressform_table {
    const float *rows;
    uint32_t slider_count, target_count;
} dressform_table;

/* What a status means, in English. */
const char *dressform_says(dressform_status status);

/* Bytes of memory that opening a file takes: at most 64 for each accessor, buffer view and mesh. */
dressform_status dressform_file_size(const void *glb, size_t size, size_t *bytes);
/* Reads the tables of a GLB. `glb` and `memory` must live as long as `file` is used. */
dressform_status dressform_file_open(dressform_file *file, const void *glb, size_t size, void *memory, size_t bytes);

/* How many primitives a mesh has, and how many targets one of them; 0 where it is not there or damaged. */
uint32_t dressform_primitive_count(const dressform_file *file, uint32_t mesh);
uint32_t dressform_target_count(const dressform_file *file, uint32_t mesh, uint32_t primitive);
/* The name of a target in UTF-8, ended by a zero; `target_7` where the file has none. What does not fit is cut off. */
dressform_status dressform_target_name(const dressform_file *file, uint32_t mesh, uint32_t target, char *name,
                                       size_t room);
/* The target of a name; DRESSFORM_NONE where the mesh has none of it. */
uint32_t dressform_target_find(const dressform_file *file, uint32_t mesh, const char *name);

/* Bytes of memory that a cloth takes. Reads every target once. */
dressform_status dressform_cloth_size(const dressform_file *file, uint32_t mesh, uint32_t primitive,
                                      dressform_field field, size_t *bytes);
/* Lays out one attribute and its targets, at weights 0. Any alignment of `memory` will do. */
dressform_status dressform_cloth_open(dressform_cloth *cloth, const dressform_file *file, uint32_t mesh,
                                      uint32_t primitive, dressform_field field, void *memory, size_t bytes);

/* Moves `points` to where these weights put them. Only blocks are written that a changed weight moves; they are summed
 * afresh from the base, so the same weights give the same bytes, whichever came before. Normals come out of any length.
 * Weights that are refused change nothing. */
dressform_status dressform_follow(dressform_cloth *cloth, const float *weights, uint32_t count);
/* The first half of it: `active`, `active_weights` and `changed`, for a shader that does the second half. */
dressform_status dressform_plan(dressform_cloth *cloth, const float *weights, uint32_t count);
/* The next stretch of vertices that the last call changed, from vertex *first + *count on; start with both 0. Right
 * after opening that is all of them. 0 where there is none. */
int dressform_next_run(const dressform_cloth *cloth, uint32_t *first, uint32_t *count);
/* Where a file holds fewer targets than sliders (`fit --basis`): the floats that its table takes. DRESSFORM_NOT_THERE
 * where each slider has its own target, as in most files. */
dressform_status dressform_table_size(const dressform_file *file, uint32_t mesh, size_t *floats);
/* Reads the table of a mesh: a row for each slider, a column for each target. `memory` holds the rows afterwards. */
dressform_status dressform_table_open(dressform_table *table, const dressform_file *file, uint32_t mesh, float *memory,
                                      size_t floats);
/* The row of a slider in the table; DRESSFORM_NONE where there is none of that name. */
uint32_t dressform_slider_find(const dressform_file *file, uint32_t mesh, const char *name);
/* Weights of targets from those of sliders. */
void dressform_mix(const dressform_table *table, const float *sliders, float *weights);

#ifdef __cplusplus
}
#endif
#endif /* DRESSFORM_FOLLOW_H */

#ifdef DRESSFORM_FOLLOW_IMPLEMENTATION
#ifndef DRESSFORM_FOLLOW_IMPLEMENTED
#define DRESSFORM_FOLLOW_IMPLEMENTED

#include <string.h>

#ifdef __cplusplus
#define DRESSFORM_OWN_RESTRICT
#else
#define DRESSFORM_OWN_RESTRICT restrict
#endif
#define DRESSFORM_OWN_MEMORY_ALIGNMENT 64u
#define DRESSFORM_OWN_DEEPEST 64u
#define DRESSFORM_OWN_PASS 8u /* terms that are summed at once: the pointers to more would not stay in registers */

/* ---- bytes: little-endian whatever the machine, at any address ---- */

static uint32_t dressform_own_u16(const unsigned char *at) { return (uint32_t)at[0] | (uint32_t)at[1] << 8; }

static uint32_t dressform_own_u32(const unsigned char *at) {
    return dressform_own_u16(at) | dressform_own_u16(at + 2) << 16;
}

static float dressform_own_float(const unsigned char *at) {
    uint32_t bits = dressform_own_u32(at);
    float value;
    memcpy(&value, &bits, sizeof value);
    return value;
}

/* By its bits, so that it holds under -ffinite-math-only as well. */
static int dressform_own_is_finite(float value) {
    uint32_t bits;
    memcpy(&bits, &value, sizeof bits);
    return (bits & 0x7f800000u) != 0x7f800000u;
}

/* ---- JSON: read where it stands; no tree is built ---- */

typedef struct dressform_own_text {
    const unsigned char *at, *end;
} dressform_own_text;

static void dressform_own_blank(dressform_own_text *text) {
    while (text->at < text->end && (*text->at == ' ' || *text->at == '\n' || *text->at == '\r' || *text->at == '\t'))
        ++text->at;
}

static int dressform_own_take(dressform_own_text *text, unsigned char wanted) {
    dressform_own_blank(text);
    if (text->at >= text->end || *text->at != wanted) return 0;
    ++text->at;
    return 1;
}

/* A string; `inside` is what stands between the quotes, escapes and all. */
static int dressform_own_string(dressform_own_text *text, dressform_own_text *inside) {
    if (!dressform_own_take(text, '"')) return 0;
    inside->at = text->at;
    for (; text->at < text->end; ++text->at) {
        if (*text->at == '"') {
            inside->end = text->at++;
            return 1;
        }
        if (*text->at == '\\' && ++text->at == text->end) return 0;
    }
    return 0;
}

/* Past one value of any kind, however it is nested. */
static int dressform_own_skip(dressform_own_text *text) {
    uint64_t kinds = 0; /* one bit a level: whether it is an array */
    unsigned depth = 0;
    dressform_own_text inside;
    do {
        unsigned char next;
        dressform_own_blank(text);
        if (text->at >= text->end) return 0;
        next = *text->at;
        if (next == '{' || next == '[') {
            if (depth++ == DRESSFORM_OWN_DEEPEST) return 0;
            kinds = kinds << 1 | (next == '[');
            ++text->at;
        } else if (next == '}' || next == ']') {
            if (depth-- == 0 || (kinds & 1) != (next == ']')) return 0;
            kinds >>= 1;
            ++text->at;
        } else if (next == '"') {
            if (!dressform_own_string(text, &inside)) return 0;
        } else if (next == ',' || next == ':') {
            if (depth == 0) return 0;
            ++text->at;
        } else {
            const unsigned char *start = text->at;
            while (text->at < text->end && strchr("+-.0123456789aefElnrstu", *text->at) && *text->at) ++text->at;
            if (text->at == start) return 0;
        }
    } while (depth);
    return 1;
}

/* The next member of an object or element of an array: 1, then its value must be read; 0 at the end; -1 if damaged. */
static int dressform_own_next(dressform_own_text *text, int *is_first, unsigned char close, dressform_own_text *key) {
    if (dressform_own_take(text, close)) return 0;
    if (!*is_first && !dressform_own_take(text, ',')) return -1;
    *is_first = 0;
    if (!key) return 1;
    return dressform_own_string(text, key) && dressform_own_take(text, ':') ? 1 : -1;
}

static int dressform_own_is(const dressform_own_text *key, const char *name) {
    size_t length = strlen(name);
    return (size_t)(key->end - key->at) == length && memcmp(key->at, name, length) == 0;
}

/* A whole number from 0 to 2^53. */
static int dressform_own_whole(dressform_own_text *text, uint64_t *value) {
    const unsigned char *start;
    dressform_own_blank(text);
    start = text->at;
    for (*value = 0; text->at < text->end && *text->at >= '0' && *text->at <= '9'; ++text->at) {
        *value = *value * 10 + (uint64_t)(*text->at - '0');
        if (*value > (uint64_t)1 << 53) return 0;
    }
    return text->at > start && (text->at == text->end || !strchr(".eE", *text->at) || !*text->at);
}

static int dressform_own_u32_of(dressform_own_text *text, uint32_t *value) {
    uint64_t whole;
    if (!dressform_own_whole(text, &whole) || whole >= DRESSFORM_NONE) return 0;
    *value = (uint32_t)whole;
    return 1;
}

static int dressform_own_size_of(dressform_own_text *text, size_t *value) {
    uint64_t whole;
    if (!dressform_own_whole(text, &whole) || whole > SIZE_MAX) return 0;
    *value = (size_t)whole;
    return 1;
}

/* How many elements an array has. */
static int dressform_own_length(dressform_own_text text, uint32_t *count) {
    int is_first = 1, more;
    if (!dressform_own_take(&text, '[')) return 0;
    for (*count = 0; (more = dressform_own_next(&text, &is_first, ']', NULL)) == 1; ++*count)
        if (!dressform_own_skip(&text) || *count == DRESSFORM_NONE - 1) return 0;
    return more == 0;
}

/* To one element of an array. */
static dressform_status dressform_own_element(dressform_own_text *text, uint32_t wanted) {
    int is_first = 1, more;
    if (!dressform_own_take(text, '[')) return DRESSFORM_DAMAGED_JSON;
    while ((more = dressform_own_next(text, &is_first, ']', NULL)) == 1) {
        if (wanted-- == 0) return DRESSFORM_OK;
        if (!dressform_own_skip(text)) return DRESSFORM_DAMAGED_JSON;
    }
    return more ? DRESSFORM_DAMAGED_JSON : DRESSFORM_NOT_THERE;
}

/* To the value of a key in an object; the last one counts, as in most readers. */
static dressform_status dressform_own_member(dressform_own_text *text, const char *name) {
    dressform_own_text key, found = {NULL, NULL};
    int is_first = 1, more;
    if (!dressform_own_take(text, '{')) return DRESSFORM_DAMAGED_JSON;
    while ((more = dressform_own_next(text, &is_first, '}', &key)) == 1) {
        if (dressform_own_is(&key, name)) found = *text;
        if (!dressform_own_skip(text)) return DRESSFORM_DAMAGED_JSON;
    }
    if (more) return DRESSFORM_DAMAGED_JSON;
    if (!found.at) return DRESSFORM_NOT_THERE;
    *text = found;
    return DRESSFORM_OK;
}

/* ---- the file's tables ---- */

static int dressform_own_fill_view(dressform_own_text *text, dressform_view *view, size_t binary_size, int is_inside) {
    dressform_own_text key;
    int is_first = 1, more, is_compressed = 0;
    uint32_t buffer = DRESSFORM_NONE;
    memset(view, 0, sizeof *view);
    if (!dressform_own_take(text, '{')) return 0;
    while ((more = dressform_own_next(text, &is_first, '}', &key)) == 1) {
        int is_good;
        if (dressform_own_is(&key, "buffer")) is_good = dressform_own_u32_of(text, &buffer);
        else if (dressform_own_is(&key, "byteOffset")) is_good = dressform_own_size_of(text, &view->offset);
        else if (dressform_own_is(&key, "byteLength")) is_good = dressform_own_size_of(text, &view->length);
        else if (dressform_own_is(&key, "byteStride")) is_good = dressform_own_size_of(text, &view->stride);
        else {
            is_compressed = is_compressed || dressform_own_is(&key, "extensions");
            is_good = dressform_own_skip(text);
        }
        if (!is_good) return 0;
    }
    if (buffer || !is_inside) view->status = is_compressed ? DRESSFORM_COMPRESSED : DRESSFORM_ELSEWHERE;
    else if (view->offset > binary_size || view->length > binary_size - view->offset)
        view->status = DRESSFORM_CUT_SHORT;
    return more == 0;
}

/* `{"bufferView": …, "byteOffset": …, "componentType": …}` of a sparse part. */
static int dressform_own_fill_part(dressform_own_text *text, uint32_t *view, size_t *offset, uint32_t *component) {
    dressform_own_text key;
    int is_first = 1, more;
    if (!dressform_own_take(text, '{')) return 0;
    while ((more = dressform_own_next(text, &is_first, '}', &key)) == 1) {
        int is_good;
        if (dressform_own_is(&key, "bufferView")) is_good = dressform_own_u32_of(text, view);
        else if (dressform_own_is(&key, "byteOffset")) is_good = dressform_own_size_of(text, offset);
        else if (dressform_own_is(&key, "componentType")) is_good = dressform_own_u32_of(text, component);
        else is_good = dressform_own_skip(text);
        if (!is_good) return 0;
    }
    return more == 0;
}

static int dressform_own_fill_sparse(dressform_own_text *text, dressform_accessor *one) {
    dressform_own_text key;
    int is_first = 1, more;
    uint32_t same = 0;
    if (!dressform_own_take(text, '{')) return 0;
    while ((more = dressform_own_next(text, &is_first, '}', &key)) == 1) {
        int is_good;
        if (dressform_own_is(&key, "count")) is_good = dressform_own_u32_of(text, &one->sparse_count);
        else if (dressform_own_is(&key, "indices"))
            is_good = dressform_own_fill_part(text, &one->index_view, &one->index_offset, &one->index_component);
        else if (dressform_own_is(&key, "values"))
            is_good = dressform_own_fill_part(text, &one->value_view, &one->value_offset, &same);
        else is_good = dressform_own_skip(text);
        if (!is_good) return 0;
    }
    return more == 0;
}

static int dressform_own_fill_accessor(dressform_own_text *text, dressform_accessor *one) {
    dressform_own_text key, word;
    int is_first = 1, more;
    memset(one, 0, sizeof *one);
    one->view = one->index_view = one->value_view = DRESSFORM_NONE;
    if (!dressform_own_take(text, '{')) return 0;
    while ((more = dressform_own_next(text, &is_first, '}', &key)) == 1) {
        int is_good;
        if (dressform_own_is(&key, "bufferView")) is_good = dressform_own_u32_of(text, &one->view);
        else if (dressform_own_is(&key, "byteOffset")) is_good = dressform_own_size_of(text, &one->offset);
        else if (dressform_own_is(&key, "count")) is_good = dressform_own_u32_of(text, &one->count);
        else if (dressform_own_is(&key, "componentType")) is_good = dressform_own_u32_of(text, &one->component);
        else if (dressform_own_is(&key, "sparse")) is_good = dressform_own_fill_sparse(text, one);
        else if (dressform_own_is(&key, "normalized")) {
            dressform_own_blank(text);
            one->is_normalised = text->at < text->end && *text->at == 't';
            is_good = dressform_own_skip(text);
        } else if (dressform_own_is(&key, "type")) {
            is_good = dressform_own_string(text, &word);
            one->width = is_good && dressform_own_is(&word, "VEC3") ? 3 : 0;
        } else is_good = dressform_own_skip(text);
        if (!is_good) return 0;
    }
    return more == 0;
}

typedef struct dressform_own_tables {
    dressform_own_text views, accessors, meshes;
    int is_inside; /* whether buffer 0 is the binary chunk */
} dressform_own_tables;

/* To one array at the top of the file; an empty one where there is none. */
static dressform_status dressform_own_table(dressform_own_text *text, const char *name) {
    static const unsigned char empty[] = "[]";
    dressform_status status = dressform_own_member(text, name);
    if (status != DRESSFORM_NOT_THERE) return status;
    text->at = empty;
    text->end = empty + 2;
    return DRESSFORM_OK;
}

/* The chunks of a GLB, and where its tables begin and how long they are. */
static dressform_status dressform_own_find(dressform_file *file, const void *glb, size_t size,
                                           dressform_own_tables *tables) {
    const unsigned char *bytes = (const unsigned char *)glb;
    dressform_own_text text, buffer;
    size_t total, at;
    dressform_status status;
    memset(file, 0, sizeof *file);
    if (size < 12 || memcmp(bytes, "glTF", 4) || dressform_own_u32(bytes + 4) != 2) return DRESSFORM_NOT_GLB;
    total = dressform_own_u32(bytes + 8);
    if (total > size || total < 20) return DRESSFORM_CUT_SHORT;
    file->json = bytes + 20;
    file->json_size = dressform_own_u32(bytes + 12);
    if (memcmp(bytes + 16, "JSON", 4)) return DRESSFORM_NOT_GLB;
    if (file->json_size > total - 20) return DRESSFORM_CUT_SHORT;
    at = 20 + file->json_size;
    if (total - at >= 8 && memcmp(bytes + at + 4, "BIN", 4) == 0) {
        file->binary = bytes + at + 8;
        file->binary_size = dressform_own_u32(bytes + at);
        if (file->binary_size > total - at - 8) return DRESSFORM_CUT_SHORT;
    }
    text.at = file->json;
    text.end = file->json + file->json_size;
    tables->views = tables->accessors = tables->meshes = buffer = text;
    if ((status = dressform_own_table(&tables->meshes, "meshes"))) return status;
    if ((status = dressform_own_table(&tables->views, "bufferViews"))) return status;
    if ((status = dressform_own_table(&tables->accessors, "accessors"))) return status;
    tables->is_inside = file->binary != NULL && dressform_own_member(&buffer, "buffers") == DRESSFORM_OK &&
                        dressform_own_element(&buffer, 0) == DRESSFORM_OK &&
                        dressform_own_member(&buffer, "uri") == DRESSFORM_NOT_THERE;
    if (!dressform_own_length(tables->views, &file->view_count)) return DRESSFORM_DAMAGED_JSON;
    if (!dressform_own_length(tables->accessors, &file->accessor_count)) return DRESSFORM_DAMAGED_JSON;
    if (!dressform_own_length(tables->meshes, &file->mesh_count)) return DRESSFORM_DAMAGED_JSON;
    return DRESSFORM_OK;
}

/* ---- memory: carved from what the caller gives; without any it only counts ---- */

typedef struct dressform_own_carver {
    unsigned char *memory;
    size_t used;
    int is_too_large;
} dressform_own_carver;

static void *dressform_own_carve(dressform_own_carver *carver, size_t count, size_t each) {
    size_t start = carver->used, room = SIZE_MAX - DRESSFORM_OWN_MEMORY_ALIGNMENT - start;
    if (carver->is_too_large || start > SIZE_MAX - 2 * DRESSFORM_OWN_MEMORY_ALIGNMENT ||
        (each && count > room / each)) {
        carver->is_too_large = 1;
        return NULL;
    }
    carver->used = start + (count * each + DRESSFORM_OWN_MEMORY_ALIGNMENT - 1) / DRESSFORM_OWN_MEMORY_ALIGNMENT *
                               DRESSFORM_OWN_MEMORY_ALIGNMENT;
    return carver->memory ? carver->memory + start : NULL;
}

static dressform_status dressform_own_carved(const dressform_own_carver *carver, size_t *bytes) {
    if (carver->is_too_large || carver->used > SIZE_MAX - DRESSFORM_OWN_MEMORY_ALIGNMENT) return DRESSFORM_TOO_LARGE;
    *bytes = carver->used + DRESSFORM_OWN_MEMORY_ALIGNMENT; /* the start may have to move up */
    return DRESSFORM_OK;
}

static void dressform_own_carve_from(dressform_own_carver *carver, void *memory) {
    size_t past = (size_t)((uintptr_t)memory % DRESSFORM_OWN_MEMORY_ALIGNMENT);
    memset(carver, 0, sizeof *carver);
    if (memory) carver->memory = (unsigned char *)memory + (past ? DRESSFORM_OWN_MEMORY_ALIGNMENT - past : 0);
}

static void dressform_own_lay_file(dressform_file *file, dressform_own_carver *carver) {
    file->views = (dressform_view *)dressform_own_carve(carver, file->view_count, sizeof *file->views);
    file->accessors = (dressform_accessor *)dressform_own_carve(carver, file->accessor_count, sizeof *file->accessors);
    file->meshes = (size_t *)dressform_own_carve(carver, file->mesh_count, sizeof *file->meshes);
}

dressform_status dressform_file_size(const void *glb, size_t size, size_t *bytes) {
    dressform_file file;
    dressform_own_tables tables;
    dressform_own_carver carver;
    dressform_status status = dressform_own_find(&file, glb, size, &tables);
    if (status) return status;
    dressform_own_carve_from(&carver, NULL);
    dressform_own_lay_file(&file, &carver);
    return dressform_own_carved(&carver, bytes);
}

dressform_status dressform_file_open(dressform_file *file, const void *glb, size_t size, void *memory, size_t bytes) {
    dressform_own_tables tables;
    dressform_own_carver carver;
    size_t need;
    uint32_t i;
    int is_first;
    dressform_status status = dressform_own_find(file, glb, size, &tables);
    if (status) return status;
    dressform_own_carve_from(&carver, memory);
    dressform_own_lay_file(file, &carver);
    if ((status = dressform_own_carved(&carver, &need))) return status;
    if (!memory || bytes < need) return DRESSFORM_NEEDS_MEMORY;
    dressform_own_take(&tables.views, '[');
    for (i = 0, is_first = 1; i < file->view_count; ++i) {
        if (dressform_own_next(&tables.views, &is_first, ']', NULL) != 1) return DRESSFORM_DAMAGED_JSON;
        if (!dressform_own_fill_view(&tables.views, file->views + i, file->binary_size, tables.is_inside))
            return DRESSFORM_DAMAGED_JSON;
    }
    dressform_own_take(&tables.accessors, '[');
    for (i = 0, is_first = 1; i < file->accessor_count; ++i) {
        if (dressform_own_next(&tables.accessors, &is_first, ']', NULL) != 1) return DRESSFORM_DAMAGED_JSON;
        if (!dressform_own_fill_accessor(&tables.accessors, file->accessors + i)) return DRESSFORM_DAMAGED_JSON;
    }
    dressform_own_take(&tables.meshes, '[');
    for (i = 0, is_first = 1; i < file->mesh_count; ++i) {
        if (dressform_own_next(&tables.meshes, &is_first, ']', NULL) != 1) return DRESSFORM_DAMAGED_JSON;
        file->meshes[i] = (size_t)(tables.meshes.at - file->json);
        if (!dressform_own_skip(&tables.meshes)) return DRESSFORM_DAMAGED_JSON;
    }
    return DRESSFORM_OK;
}

/* ---- meshes and the names of their targets ---- */

static dressform_status dressform_own_mesh(const dressform_file *file, uint32_t mesh, const char *name,
                                           dressform_own_text *text) {
    if (mesh >= file->mesh_count) return DRESSFORM_NOT_THERE;
    text->at = file->json + file->meshes[mesh];
    text->end = file->json + file->json_size;
    return dressform_own_member(text, name);
}

static dressform_status dressform_own_primitive(const dressform_file *file, uint32_t mesh, uint32_t primitive,
                                                dressform_own_text *text) {
    dressform_status status = dressform_own_mesh(file, mesh, "primitives", text);
    return status ? status : dressform_own_element(text, primitive);
}

uint32_t dressform_primitive_count(const dressform_file *file, uint32_t mesh) {
    dressform_own_text text;
    uint32_t count;
    return dressform_own_mesh(file, mesh, "primitives", &text) || !dressform_own_length(text, &count) ? 0 : count;
}

uint32_t dressform_target_count(const dressform_file *file, uint32_t mesh, uint32_t primitive) {
    dressform_own_text text;
    uint32_t count;
    if (dressform_own_primitive(file, mesh, primitive, &text) || dressform_own_member(&text, "targets")) return 0;
    return dressform_own_length(text, &count) ? count : 0;
}

static int dressform_own_hex(dressform_own_text *text, uint32_t *value) {
    int i;
    for (*value = 0, i = 0; i < 4; ++i) {
        unsigned char digit;
        if (text->at >= text->end) return 0;
        digit = *text->at++;
        if (digit >= '0' && digit <= '9') *value = *value << 4 | (uint32_t)(digit - '0');
        else if (digit >= 'a' && digit <= 'f') *value = *value << 4 | (uint32_t)(digit - 'a' + 10);
        else if (digit >= 'A' && digit <= 'F') *value = *value << 4 | (uint32_t)(digit - 'A' + 10);
        else return 0;
    }
    return 1;
}

/* The next character of a string as one to four bytes of UTF-8; their number, 0 at the end or where it is damaged. */
static unsigned dressform_own_letter(dressform_own_text *text, unsigned char bytes[4]) {
    static const char from[] = "bfnrt", to[] = "\b\f\n\r\t";
    uint32_t code, low;
    unsigned count, i;
    const char *known;
    if (text->at >= text->end) return 0;
    bytes[0] = *text->at++;
    if (bytes[0] != '\\') return 1;
    if (text->at >= text->end) return 0;
    bytes[0] = *text->at++;
    if (bytes[0] != 'u') {
        known = strchr(from, bytes[0]);
        if (known && *known) bytes[0] = (unsigned char)to[known - from];
        return 1;
    }
    if (!dressform_own_hex(text, &code)) return 0;
    if (code >= 0xd800u && code < 0xdc00u && text->end - text->at >= 6 && text->at[0] == '\\' && text->at[1] == 'u') {
        text->at += 2;
        if (!dressform_own_hex(text, &low) || low < 0xdc00u || low > 0xdfffu) return 0;
        code = 0x10000u + ((code - 0xd800u) << 10) + (low - 0xdc00u);
    }
    if (code < 0x80u) {
        bytes[0] = (unsigned char)code;
        return 1;
    }
    count = code < 0x800u ? 2 : code < 0x10000u ? 3 : 4;
    bytes[0] = (unsigned char)((count == 2 ? 0xc0u : count == 3 ? 0xe0u : 0xf0u) | code >> 6 * (count - 1));
    for (i = 1; i < count; ++i) bytes[i] = (unsigned char)(0x80u | (code >> 6 * (count - 1 - i) & 0x3fu));
    return count;
}

static dressform_status dressform_own_names(const dressform_file *file, uint32_t mesh, dressform_own_text *text) {
    dressform_status status = dressform_own_mesh(file, mesh, "extras", text);
    return status ? status : dressform_own_member(text, "targetNames");
}

dressform_status dressform_target_name(const dressform_file *file, uint32_t mesh, uint32_t target, char *name,
                                       size_t room) {
    dressform_own_text text, word;
    unsigned char bytes[4];
    size_t used = 0;
    unsigned length;
    uint32_t tens = 1;
    if (!room || mesh >= file->mesh_count) return DRESSFORM_NOT_THERE;
    if (!dressform_own_names(file, mesh, &text) && !dressform_own_element(&text, target) &&
        dressform_own_string(&text, &word)) {
        while ((length = dressform_own_letter(&word, bytes)) && used + length < room) {
            memcpy(name + used, bytes, length);
            used += length;
        }
        name[used] = 0;
        return DRESSFORM_OK;
    }
    for (; used < 7 && used + 1 < room; ++used) name[used] = "target_"[used];
    while (target / tens >= 10) tens *= 10;
    for (; tens && used + 1 < room; tens /= 10) name[used++] = (char)('0' + target / tens % 10);
    name[used] = 0;
    return DRESSFORM_OK;
}

/* Whether a string of the file is this name. */
static int dressform_own_spells(dressform_own_text word, const char *name) {
    unsigned char bytes[4];
    unsigned length;
    while ((length = dressform_own_letter(&word, bytes)) && bytes[0] && !strncmp(name, (const char *)bytes, length))
        name += length;
    return !length && word.at == word.end && !*name;
}

uint32_t dressform_target_find(const dressform_file *file, uint32_t mesh, const char *name) {
    dressform_own_text text, word;
    uint32_t target = 0;
    int is_first = 1;
    if (dressform_own_names(file, mesh, &text) || !dressform_own_take(&text, '[')) return DRESSFORM_NONE;
    for (; dressform_own_next(&text, &is_first, ']', NULL) == 1; ++target) {
        dressform_own_blank(&text);
        if (text.at >= text.end || *text.at != '"' || !dressform_own_string(&text, &word)) return DRESSFORM_NONE;
        if (dressform_own_spells(word, name)) return target;
    }
    return DRESSFORM_NONE;
}

/* ---- the table of sliders that share targets ---- */

/* A number; 0 where there is none or it is beyond measure. */
static int dressform_own_real(dressform_own_text *text, double *value) {
    int is_negative = dressform_own_take(text, '-'), is_after_point = 0, power = 0, is_lowering = 0, given = 0;
    const unsigned char *start = text->at;
    for (*value = 0.0; text->at < text->end; ++text->at) {
        unsigned char next = *text->at;
        if (next == '.' && !is_after_point) {
            is_after_point = 1;
        } else if (next >= '0' && next <= '9') {
            int is_kept = *value < 1e17; /* further digits are below what a double holds */
            if (is_kept) *value = *value * 10.0 + (double)(next - '0');
            power += (is_kept ? 0 : 1) - is_after_point;
        } else {
            break;
        }
    }
    if (text->at == start || text->at - start > 400) return 0;
    if (text->at < text->end && (*text->at == 'e' || *text->at == 'E')) {
        if (++text->at < text->end && (*text->at == '-' || *text->at == '+')) is_lowering = *text->at++ == '-';
        for (start = text->at; text->at < text->end && *text->at >= '0' && *text->at <= '9'; ++text->at)
            given = given < 1000 ? given * 10 + (*text->at - '0') : given;
        if (text->at == start) return 0;
    }
    for (power += is_lowering ? -given : given; power < 0 && *value > 0.0; ++power) *value /= 10.0;
    for (; power > 0 && *value > 0.0 && *value < 1e30; --power) *value *= 10.0;
    if (is_negative) *value = -*value;
    return *value > -1e30 && *value < 1e30;
}

/* To `targets` or `morphs` of the table of a mesh. */
static dressform_status dressform_own_basis(const dressform_file *file, uint32_t mesh, const char *name,
                                            dressform_own_text *text) {
    dressform_own_text schema, word;
    dressform_status status = dressform_own_mesh(file, mesh, "extras", text);
    if (status || (status = dressform_own_member(text, "basis"))) return status;
    schema = *text;
    if ((status = dressform_own_member(&schema, "schema"))) return status;
    if (!dressform_own_string(&schema, &word)) return DRESSFORM_DAMAGED_JSON;
    return dressform_own_is(&word, "dressform-basis/1") ? dressform_own_member(text, name) : DRESSFORM_DAMAGED;
}

dressform_status dressform_table_size(const dressform_file *file, uint32_t mesh, size_t *floats) {
    dressform_own_text text, key;
    size_t sliders = 0, targets = dressform_target_count(file, mesh, 0);
    int is_first = 1, more;
    dressform_status status = dressform_own_basis(file, mesh, "morphs", &text);
    if (status) return status;
    if (!dressform_own_take(&text, '{')) return DRESSFORM_DAMAGED_JSON;
    for (; (more = dressform_own_next(&text, &is_first, '}', &key)) == 1; ++sliders)
        if (!dressform_own_skip(&text)) return DRESSFORM_DAMAGED_JSON;
    if (more) return DRESSFORM_DAMAGED_JSON;
    if (sliders > DRESSFORM_MOST_TARGETS || targets > DRESSFORM_MOST_TARGETS) return DRESSFORM_TOO_LARGE;
    *floats = (sliders + 1) * targets; /* one row more to work in */
    return DRESSFORM_OK;
}

/* The columns of the table's targets, in their order, as bits in a row of floats; how many there are. */
static dressform_status dressform_own_columns(const dressform_file *file, uint32_t mesh, float *row, uint32_t most,
                                              uint32_t *count) {
    dressform_own_text text, word;
    char name[128];
    int is_first = 1, more;
    dressform_status status = dressform_own_basis(file, mesh, "targets", &text);
    if (status) return status;
    if (!dressform_own_take(&text, '[')) return DRESSFORM_DAMAGED_JSON;
    for (*count = 0; (more = dressform_own_next(&text, &is_first, ']', NULL)) == 1; ++*count) {
        uint32_t column;
        unsigned length;
        size_t used = 0;
        unsigned char bytes[4];
        if (*count == most) return DRESSFORM_DAMAGED;
        if (!dressform_own_string(&text, &word)) return DRESSFORM_DAMAGED_JSON;
        while ((length = dressform_own_letter(&word, bytes)) && used + length < sizeof name) {
            memcpy(name + used, bytes, length);
            used += length;
        }
        name[used] = 0;
        column = dressform_target_find(file, mesh, name);
        if (length || column >= most) return DRESSFORM_DAMAGED;
        memcpy(row + *count, &column, sizeof column);
    }
    return more ? DRESSFORM_DAMAGED_JSON : DRESSFORM_OK;
}

dressform_status dressform_table_open(dressform_table *table, const dressform_file *file, uint32_t mesh, float *memory,
                                      size_t floats) {
    dressform_own_text text, key;
    size_t need;
    uint32_t targets = dressform_target_count(file, mesh, 0), count, slider = 0;
    int is_first = 1;
    float *columns;
    dressform_status status = dressform_table_size(file, mesh, &need);
    if (status) return status;
    if ((need && !memory) || floats < need) return DRESSFORM_NEEDS_MEMORY;
    if (!targets) return DRESSFORM_DAMAGED;
    memset(memory, 0, need * sizeof *memory);
    table->rows = memory;
    table->target_count = targets;
    table->slider_count = (uint32_t)(need / targets) - 1;
    columns = memory + (size_t)table->slider_count * targets;
    if ((status = dressform_own_columns(file, mesh, columns, targets, &count))) return status;
    if ((status = dressform_own_basis(file, mesh, "morphs", &text))) return status;
    for (dressform_own_take(&text, '{'); dressform_own_next(&text, &is_first, '}', &key) == 1; ++slider) {
        int is_first_share = 1, more;
        uint32_t share = 0, column;
        if (slider == table->slider_count || !dressform_own_take(&text, '[')) return DRESSFORM_DAMAGED_JSON;
        for (; (more = dressform_own_next(&text, &is_first_share, ']', NULL)) == 1; ++share) {
            double value;
            if (share == count) return DRESSFORM_DAMAGED;
            if (!dressform_own_real(&text, &value)) return DRESSFORM_NOT_FINITE;
            memcpy(&column, columns + share, sizeof column);
            memory[(size_t)slider * targets + column] = (float)value;
        }
        if (more) return DRESSFORM_DAMAGED_JSON;
        if (share != count) return DRESSFORM_DAMAGED;
    }
    return DRESSFORM_OK;
}

uint32_t dressform_slider_find(const dressform_file *file, uint32_t mesh, const char *name) {
    dressform_own_text text, key;
    uint32_t slider = 0;
    int is_first = 1;
    if (dressform_own_basis(file, mesh, "morphs", &text) || !dressform_own_take(&text, '{')) return DRESSFORM_NONE;
    for (; dressform_own_next(&text, &is_first, '}', &key) == 1; ++slider) {
        if (dressform_own_spells(key, name)) return slider;
        if (!dressform_own_skip(&text)) return DRESSFORM_NONE;
    }
    return DRESSFORM_NONE;
}

/* ---- the rows of an accessor, one after the other: dense, sparse or both ---- */

typedef struct dressform_own_rows {
    const unsigned char *dense, *indices, *values;
    size_t stride, value_stride;
    uint32_t count, component, is_normalised, sparse_count, index_component, next;
} dressform_own_rows;

static size_t dressform_own_component_size(uint32_t component) {
    switch (component) {
    case 5120:
    case 5121: return 1;
    case 5122:
    case 5123: return 2;
    case 5125:
    case 5126: return 4;
    default: return 0;
    }
}

/* The start of `count` elements in a view. */
static dressform_status dressform_own_inside(const dressform_file *file, uint32_t view, size_t offset, uint32_t count,
                                             size_t element, int is_strided, const unsigned char **start,
                                             size_t *stride) {
    const dressform_view *found;
    if (view >= file->view_count) return DRESSFORM_DAMAGED;
    found = file->views + view;
    if (found->status) return found->status;
    *stride = is_strided && found->stride ? found->stride : element;
    if (*stride < element || !count) return DRESSFORM_DAMAGED;
    if (offset > found->length || element > found->length - offset) return DRESSFORM_DAMAGED;
    if (count - 1 > (found->length - offset - element) / *stride) return DRESSFORM_DAMAGED;
    *start = file->binary + found->offset + offset;
    return DRESSFORM_OK;
}

static uint32_t dressform_own_index(const dressform_own_rows *rows, uint32_t i) {
    if (rows->index_component == 5121) return rows->indices[i];
    if (rows->index_component == 5123) return dressform_own_u16(rows->indices + 2 * (size_t)i);
    return dressform_own_u32(rows->indices + 4 * (size_t)i);
}

static dressform_status dressform_own_rows_open(dressform_own_rows *rows, const dressform_file *file,
                                                uint32_t accessor) {
    const dressform_accessor *one;
    dressform_status status;
    size_t element, index_size, ignored;
    uint32_t i;
    memset(rows, 0, sizeof *rows);
    if (accessor >= file->accessor_count) return DRESSFORM_DAMAGED;
    one = file->accessors + accessor;
    element = 3 * dressform_own_component_size(one->component);
    if (!element || one->component == 5125 || one->width != 3 || !one->count) return DRESSFORM_DAMAGED;
    rows->count = one->count;
    rows->component = one->component;
    rows->is_normalised = one->is_normalised;
    if (one->view != DRESSFORM_NONE) {
        status = dressform_own_inside(file, one->view, one->offset, one->count, element, 1, &rows->dense,
                                      &rows->stride);
        if (status) return status;
    }
    if (!one->sparse_count) return DRESSFORM_OK;
    rows->sparse_count = one->sparse_count;
    rows->index_component = one->index_component;
    index_size = dressform_own_component_size(one->index_component);
    if (one->sparse_count > one->count) return DRESSFORM_DAMAGED;
    if (one->index_component != 5121 && one->index_component != 5123 && one->index_component != 5125)
        return DRESSFORM_DAMAGED;
    status = dressform_own_inside(file, one->index_view, one->index_offset, one->sparse_count, index_size, 0,
                                  &rows->indices, &ignored);
    if (status) return status;
    status = dressform_own_inside(file, one->value_view, one->value_offset, one->sparse_count, element, 0,
                                  &rows->values, &rows->value_stride);
    if (status) return status;
    for (i = 0; i < rows->sparse_count; ++i) { /* they rise, as glTF asks, so one pass meets them all */
        uint32_t index = dressform_own_index(rows, i);
        if (index >= rows->count || (i && index <= dressform_own_index(rows, i - 1))) return DRESSFORM_DAMAGED;
    }
    return DRESSFORM_OK;
}

static float dressform_own_number(const dressform_own_rows *rows, const unsigned char *at) {
    float value, top;
    switch (rows->component) {
    case 5120: value = (float)((int)at[0] - (at[0] < 128 ? 0 : 256)), top = 127.0f; break;
    case 5121: value = (float)at[0], top = 255.0f; break;
    case 5122: value = (float)((int)dressform_own_u16(at) - (at[1] < 128 ? 0 : 65536)), top = 32767.0f; break;
    case 5123: value = (float)dressform_own_u16(at), top = 65535.0f; break;
    default: return dressform_own_float(at);
    }
    if (!rows->is_normalised) return value;
    value /= top;
    return value < -1.0f ? -1.0f : value;
}

/* The rows of one block, the rest zero; 1 where one is not zero, 0 where all are, -1 where one is no number. */
static int dressform_own_block_of(dressform_own_rows *rows, uint32_t block, float *out) {
    size_t size = dressform_own_component_size(rows->component);
    uint32_t row = block * DRESSFORM_BLOCK, i, axis;
    int is_moved = 0;
    memset(out, 0, DRESSFORM_BLOCK_FLOATS * sizeof *out);
    if (!rows->dense) /* nothing but its sparse rows, which may all lie elsewhere */
        if (rows->next == rows->sparse_count || dressform_own_index(rows, rows->next) / DRESSFORM_BLOCK != block)
            return 0;
    for (i = 0; i < DRESSFORM_BLOCK && row < rows->count; ++i, ++row) {
        const unsigned char *at = rows->dense ? rows->dense + row * rows->stride : NULL;
        if (rows->next < rows->sparse_count && dressform_own_index(rows, rows->next) == row)
            at = rows->values + rows->next++ * rows->value_stride;
        if (!at) continue;
        for (axis = 0; axis < 3; ++axis) {
            float value = dressform_own_number(rows, at + axis * size);
            if (!dressform_own_is_finite(value)) return -1;
            is_moved |= value < 0.0f || value > 0.0f;
            out[3 * i + axis] = value;
        }
    }
    return is_moved;
}

/* ---- one attribute of one primitive ---- */

typedef struct dressform_own_parts {
    dressform_own_text targets; /* past the bracket that opens them */
    const char *field;
    uint32_t base, target_count;
} dressform_own_parts;

static dressform_status dressform_own_attribute(dressform_own_text text, const char *field, uint32_t *accessor) {
    dressform_status status = dressform_own_member(&text, field);
    if (status) return status;
    return dressform_own_u32_of(&text, accessor) ? DRESSFORM_OK : DRESSFORM_DAMAGED_JSON;
}

static dressform_status dressform_own_find_parts(const dressform_file *file, uint32_t mesh, uint32_t primitive,
                                                 dressform_field field, dressform_own_parts *parts) {
    dressform_own_text text, inside;
    dressform_status status = dressform_own_primitive(file, mesh, primitive, &text);
    if (status) return status;
    parts->field = field == DRESSFORM_NORMAL ? "NORMAL" : "POSITION";
    parts->target_count = 0;
    inside = text;
    if ((status = dressform_own_member(&inside, "attributes"))) return status;
    if ((status = dressform_own_attribute(inside, parts->field, &parts->base))) return status;
    status = dressform_own_member(&text, "targets");
    if (status) return status == DRESSFORM_NOT_THERE ? DRESSFORM_OK : status;
    if (!dressform_own_length(text, &parts->target_count)) return DRESSFORM_DAMAGED_JSON;
    if (parts->target_count > DRESSFORM_MOST_TARGETS) return DRESSFORM_TOO_LARGE;
    dressform_own_take(&text, '[');
    parts->targets = text;
    return DRESSFORM_OK;
}

/* The rows of the next target; none at all where it leaves this attribute alone. */
static dressform_status dressform_own_next_target(const dressform_file *file, dressform_own_parts *parts, int *is_first,
                                                  uint32_t count, dressform_own_rows *rows) {
    uint32_t accessor;
    dressform_status status;
    if (dressform_own_next(&parts->targets, is_first, ']', NULL) != 1) return DRESSFORM_DAMAGED_JSON;
    status = dressform_own_attribute(parts->targets, parts->field, &accessor);
    if (status == DRESSFORM_NOT_THERE) memset(rows, 0, sizeof *rows);
    else if (status || (status = dressform_own_rows_open(rows, file, accessor))) return status;
    else if (rows->count != count) return DRESSFORM_DAMAGED;
    return dressform_own_skip(&parts->targets) ? DRESSFORM_OK : DRESSFORM_DAMAGED_JSON;
}

static void dressform_own_lay_cloth(dressform_cloth *cloth, dressform_own_carver *carver) {
    size_t blocks = cloth->block_count, targets = cloth->target_count;
    size_t block = DRESSFORM_BLOCK_FLOATS * sizeof(float);
    cloth->points = (float *)dressform_own_carve(carver, blocks, block);
    cloth->base = (float *)dressform_own_carve(carver, blocks, block);
    cloth->deltas = (float *)dressform_own_carve(carver, cloth->piece_count, block);
    cloth->slots = (uint32_t *)dressform_own_carve(carver, blocks, targets * sizeof *cloth->slots);
    cloth->weights = (float *)dressform_own_carve(carver, targets, sizeof *cloth->weights);
    cloth->active = (uint32_t *)dressform_own_carve(carver, targets, sizeof *cloth->active);
    cloth->active_weights = (float *)dressform_own_carve(carver, targets, sizeof *cloth->active_weights);
    cloth->factors = (float *)dressform_own_carve(carver, targets + DRESSFORM_OWN_PASS, sizeof *cloth->factors);
    cloth->sources = (const float **)dressform_own_carve(carver, targets + DRESSFORM_OWN_PASS, sizeof *cloth->sources);
    cloth->changed = (unsigned char *)dressform_own_carve(carver, blocks, 1);
}

/* Counts the pieces that all targets take together, and refuses what cannot be followed. */
static dressform_status dressform_own_count_pieces(const dressform_file *file, dressform_own_parts parts,
                                                   dressform_cloth *cloth) {
    float block[DRESSFORM_BLOCK_FLOATS];
    dressform_own_rows rows;
    uint32_t target, i;
    int is_first = 1, is_moved;
    dressform_status status = dressform_own_rows_open(&rows, file, parts.base);
    if (status) return status;
    if (!rows.dense) return DRESSFORM_DAMAGED; /* a few bytes could ask for any number of vertices */
    memset(cloth, 0, sizeof *cloth);
    cloth->vertex_count = rows.count;
    cloth->target_count = parts.target_count;
    cloth->block_count = (rows.count - 1) / DRESSFORM_BLOCK + 1;
    cloth->piece_count = 1;
    for (i = 0; i < cloth->block_count; ++i)
        if (dressform_own_block_of(&rows, i, block) < 0) return DRESSFORM_NOT_FINITE;
    for (target = 0; target < cloth->target_count; ++target) {
        if ((status = dressform_own_next_target(file, &parts, &is_first, cloth->vertex_count, &rows))) return status;
        for (i = 0; rows.count && i < cloth->block_count; ++i) {
            if ((is_moved = dressform_own_block_of(&rows, i, block)) < 0) return DRESSFORM_NOT_FINITE;
            if (is_moved && ++cloth->piece_count == DRESSFORM_NONE) return DRESSFORM_TOO_LARGE;
        }
    }
    return DRESSFORM_OK;
}

dressform_status dressform_cloth_size(const dressform_file *file, uint32_t mesh, uint32_t primitive,
                                      dressform_field field, size_t *bytes) {
    dressform_own_parts parts;
    dressform_cloth cloth;
    dressform_own_carver carver;
    dressform_status status = dressform_own_find_parts(file, mesh, primitive, field, &parts);
    if (status || (status = dressform_own_count_pieces(file, parts, &cloth))) return status;
    dressform_own_carve_from(&carver, NULL);
    dressform_own_lay_cloth(&cloth, &carver);
    return dressform_own_carved(&carver, bytes);
}

dressform_status dressform_cloth_open(dressform_cloth *cloth, const dressform_file *file, uint32_t mesh,
                                      uint32_t primitive, dressform_field field, void *memory, size_t bytes) {
    dressform_own_parts parts;
    dressform_own_carver carver;
    dressform_own_rows rows;
    size_t need;
    uint32_t target, i, piece = 1;
    int is_first = 1;
    dressform_status status = dressform_own_find_parts(file, mesh, primitive, field, &parts);
    if (status || (status = dressform_own_count_pieces(file, parts, cloth))) return status;
    dressform_own_carve_from(&carver, memory);
    dressform_own_lay_cloth(cloth, &carver);
    if ((status = dressform_own_carved(&carver, &need))) return status;
    if (!memory || bytes < need) return DRESSFORM_NEEDS_MEMORY;
    memset(carver.memory, 0, carver.used);
    dressform_own_rows_open(&rows, file, parts.base);
    for (i = 0; i < cloth->block_count; ++i)
        dressform_own_block_of(&rows, i, cloth->base + (size_t)i * DRESSFORM_BLOCK_FLOATS);
    for (target = 0; target < cloth->target_count; ++target) {
        uint32_t *slots = cloth->slots + (size_t)target * cloth->block_count;
        if ((status = dressform_own_next_target(file, &parts, &is_first, cloth->vertex_count, &rows))) return status;
        for (i = 0; rows.count && i < cloth->block_count; ++i) {
            float block[DRESSFORM_BLOCK_FLOATS];
            if (!dressform_own_block_of(&rows, i, block)) continue;
            if (piece == cloth->piece_count) return DRESSFORM_DAMAGED; /* the bytes changed while they were read */
            memcpy(cloth->deltas + (size_t)piece * DRESSFORM_BLOCK_FLOATS, block, sizeof block);
            slots[i] = piece++;
        }
    }
    memcpy(cloth->points, cloth->base, (size_t)cloth->block_count * DRESSFORM_BLOCK_FLOATS * sizeof *cloth->base);
    memset(cloth->changed, 1, cloth->block_count);
    return DRESSFORM_OK;
}

/* ---- following ---- */

dressform_status dressform_plan(dressform_cloth *cloth, const float *weights, uint32_t count) {
    uint32_t target, block;
    if (count != cloth->target_count) return DRESSFORM_BAD_WEIGHTS;
    for (target = 0; target < count; ++target)
        if (!dressform_own_is_finite(weights[target])) return DRESSFORM_BAD_WEIGHTS;
    memset(cloth->changed, 0, cloth->block_count);
    cloth->active_count = 0;
    for (target = 0; target < count; ++target) {
        float weight = weights[target];
        if (weight < 0.0f || weight > 0.0f) {
            cloth->active[cloth->active_count] = target;
            cloth->active_weights[cloth->active_count++] = weight;
        }
        if (weight < cloth->weights[target] || weight > cloth->weights[target]) {
            const uint32_t *slots = cloth->slots + (size_t)target * cloth->block_count;
            unsigned char *changed = cloth->changed;
            for (block = 0; block < cloth->block_count; ++block) changed[block] |= slots[block] != 0;
        }
        cloth->weights[target] = weight;
    }
    return DRESSFORM_OK;
}

#define DRESSFORM_OWN_EACH(statement) \
    for (j = 0; j < DRESSFORM_BLOCK_FLOATS; ++j) statement; \
    break
#define DRESSFORM_OWN_2 (f[0] * s0[j] + f[1] * s1[j])
#define DRESSFORM_OWN_4 (DRESSFORM_OWN_2 + (f[2] * s2[j] + f[3] * s3[j]))
#define DRESSFORM_OWN_6 (DRESSFORM_OWN_4 + (f[4] * s4[j] + f[5] * s5[j]))
#define DRESSFORM_OWN_8 (DRESSFORM_OWN_6 + (f[6] * s6[j] + f[7] * s7[j]))

/* out = start + one to eight terms; the terms first, since they are small and round less than what they are added to.
 * `from` and `factors` must have eight entries that can be read, used or not. */
static void dressform_own_pass(float *DRESSFORM_OWN_RESTRICT out, const float *DRESSFORM_OWN_RESTRICT start,
                               const float *const *from, const float *factors, uint32_t count) {
    const float *s0 = from[0], *s1 = from[1], *s2 = from[2], *s3 = from[3];
    const float *s4 = from[4], *s5 = from[5], *s6 = from[6], *s7 = from[7];
    float f[DRESSFORM_OWN_PASS];
    uint32_t j;
    for (j = 0; j < DRESSFORM_OWN_PASS; ++j) f[j] = factors[j];
    switch (count) {
    case 1: DRESSFORM_OWN_EACH(out[j] = start[j] + f[0] * s0[j]);
    case 2: DRESSFORM_OWN_EACH(out[j] = start[j] + DRESSFORM_OWN_2);
    case 3: DRESSFORM_OWN_EACH(out[j] = start[j] + (DRESSFORM_OWN_2 + f[2] * s2[j]));
    case 4: DRESSFORM_OWN_EACH(out[j] = start[j] + DRESSFORM_OWN_4);
    case 5: DRESSFORM_OWN_EACH(out[j] = start[j] + (DRESSFORM_OWN_4 + f[4] * s4[j]));
    case 6: DRESSFORM_OWN_EACH(out[j] = start[j] + DRESSFORM_OWN_6);
    case 7: DRESSFORM_OWN_EACH(out[j] = start[j] + (DRESSFORM_OWN_6 + f[6] * s6[j]));
    default: DRESSFORM_OWN_EACH(out[j] = start[j] + DRESSFORM_OWN_8);
    }
}

/* One block: base + `count` terms, in passes. */
static void dressform_own_follow_block(dressform_cloth *cloth, uint32_t block, uint32_t count) {
    float sums[2][DRESSFORM_BLOCK_FLOATS];
    float *out = cloth->points + (size_t)block * DRESSFORM_BLOCK_FLOATS;
    const float *base = cloth->base + (size_t)block * DRESSFORM_BLOCK_FLOATS;
    const float **from = cloth->sources, *factors = cloth->factors, *zeros = cloth->deltas;
    uint32_t taken, j, turn = 0;
    if (!count) {
        memcpy(out, base, sizeof sums[0]);
    } else if (count <= DRESSFORM_OWN_PASS) {
        dressform_own_pass(out, base, from, factors, count);
    } else {
        taken = (count - 1) % DRESSFORM_OWN_PASS + 1;
        dressform_own_pass(sums[0], zeros, from, factors, taken);
        for (; taken < count; taken += DRESSFORM_OWN_PASS, turn = !turn)
            dressform_own_pass(sums[!turn], sums[turn], from + taken, factors + taken, DRESSFORM_OWN_PASS);
        for (j = 0; j < DRESSFORM_BLOCK_FLOATS; ++j) out[j] = base[j] + sums[turn][j];
    }
}

dressform_status dressform_follow(dressform_cloth *cloth, const float *weights, uint32_t count) {
    uint32_t block, i;
    dressform_status status = dressform_plan(cloth, weights, count);
    if (status) return status;
    for (block = 0; block < cloth->block_count; ++block) {
        uint32_t moving = 0;
        if (!cloth->changed[block]) continue;
        for (i = 0; i < cloth->active_count; ++i) {
            uint32_t piece = cloth->slots[(size_t)cloth->active[i] * cloth->block_count + block];
            if (!piece) continue;
            cloth->sources[moving] = cloth->deltas + (size_t)piece * DRESSFORM_BLOCK_FLOATS;
            cloth->factors[moving++] = cloth->active_weights[i];
        }
        dressform_own_follow_block(cloth, block, moving);
    }
    return DRESSFORM_OK;
}

int dressform_next_run(const dressform_cloth *cloth, uint32_t *first, uint32_t *count) {
    uint32_t block = (*first + *count + DRESSFORM_BLOCK - 1) / DRESSFORM_BLOCK, end;
    while (block < cloth->block_count && !cloth->changed[block]) ++block;
    if (block >= cloth->block_count) return 0;
    *first = block * DRESSFORM_BLOCK;
    while (block < cloth->block_count && cloth->changed[block]) ++block;
    end = block * DRESSFORM_BLOCK;
    *count = (end < cloth->vertex_count ? end : cloth->vertex_count) - *first;
    return 1;
}

void dressform_mix(const dressform_table *table, const float *sliders, float *weights) {
    uint32_t slider, target;
    for (target = 0; target < table->target_count; ++target) weights[target] = 0.0f;
    for (slider = 0; slider < table->slider_count; ++slider)
        for (target = 0; target < table->target_count; ++target)
            weights[target] += sliders[slider] * table->rows[(size_t)slider * table->target_count + target];
}

const char *dressform_says(dressform_status status) {
    switch (status) {
    case DRESSFORM_OK: return "all is well";
    case DRESSFORM_NOT_GLB: return "not a binary glTF 2.0 file: export a .glb";
    case DRESSFORM_CUT_SHORT: return "the file ends before it should: copy it again";
    case DRESSFORM_DAMAGED_JSON: return "the file's JSON is damaged, or nested deeper than 64 levels";
    case DRESSFORM_DAMAGED: return "the file's counts, types or indices do not go together";
    case DRESSFORM_NOT_FINITE: return "the file holds a number that is not finite";
    case DRESSFORM_ELSEWHERE: return "the data are in another file: export a .glb that holds everything";
    case DRESSFORM_COMPRESSED: return "the data are compressed: decompress them before";
    case DRESSFORM_NOT_THERE: return "the file has no such mesh, primitive or attribute";
    case DRESSFORM_TOO_LARGE: return "more targets than DRESSFORM_MOST_TARGETS, or more memory than there can be";
    case DRESSFORM_NEEDS_MEMORY: return "less memory was given than the size call said";
    case DRESSFORM_BAD_WEIGHTS: return "there must be one finite weight per target";
    }
    return "unknown status";
}

#endif /* DRESSFORM_FOLLOW_IMPLEMENTED */
#endif /* DRESSFORM_FOLLOW_IMPLEMENTATION */
