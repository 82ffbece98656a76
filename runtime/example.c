/* The whole of it: example GARMENT.glb NAME=WEIGHT... writes the garment at these weights as an OBJ of points.
 *
 * cc -O3 example.c -o example && ./example fitted.glb belly=1 hips=0.5 > moved.obj
 */
#define DRESSFORM_FOLLOW_IMPLEMENTATION
#include "dressform_follow.h"

#include <stdio.h>
#include <stdlib.h>

static int fail(const char *what, dressform_status status) {
    fprintf(stderr, "example: %s: %s\n", what, dressform_says(status));
    return 2;
}

static unsigned char *read_whole(const char *path, size_t *size) {
    FILE *file = fopen(path, "rb");
    unsigned char *bytes = NULL;
    long length;
    if (!file) return NULL;
    if (!fseek(file, 0, SEEK_END) && (length = ftell(file)) > 0 && !fseek(file, 0, SEEK_SET)) {
        *size = (size_t)length;
        bytes = (unsigned char *)malloc(*size);
        if (bytes && fread(bytes, 1, *size, file) != *size) {
            free(bytes);
            bytes = NULL;
        }
    }
    fclose(file);
    return bytes;
}

/* `belly=1` into the weight of that target. */
static int set_weight(const dressform_file *file, uint32_t mesh, char *word, float *weights, uint32_t count) {
    char *value = strchr(word, '=');
    uint32_t target;
    if (!value) return 0;
    *value = 0;
    target = dressform_target_find(file, mesh, word);
    if (target < count) weights[target] = (float)strtod(value + 1, NULL);
    *value = '=';
    return target < count;
}

static int follow(const dressform_file *file, uint32_t mesh, uint32_t primitive, int count, char **words) {
    dressform_cloth cloth;
    float *weights;
    void *memory;
    size_t need;
    uint32_t first = 0, length = 0, moved = 0, vertex;
    int word;
    dressform_status status = dressform_cloth_size(file, mesh, primitive, DRESSFORM_POSITION, &need);
    if (status) return fail("reading", status);
    memory = malloc(need);
    status = dressform_cloth_open(&cloth, file, mesh, primitive, DRESSFORM_POSITION, memory, need);
    weights = (float *)calloc(dressform_target_count(file, mesh, primitive) + 1u, sizeof *weights);
    if (status || !weights) return fail("reading", status ? status : DRESSFORM_NEEDS_MEMORY);
    for (word = 0; word < count; ++word)
        if (!set_weight(file, mesh, words[word], weights, cloth.target_count))
            fprintf(stderr, "example: mesh %lu has no target of %s\n", (unsigned long)mesh, words[word]);
    if ((status = dressform_follow(&cloth, weights, cloth.target_count))) return fail("following", status);
    while (dressform_next_run(&cloth, &first, &length)) moved += length; /* what an engine must upload */
    fprintf(stderr, "mesh %lu, primitive %lu: %lu vertices, %lu targets, %lu kB; to upload: %lu vertices\n",
            (unsigned long)mesh, (unsigned long)primitive, (unsigned long)cloth.vertex_count,
            (unsigned long)cloth.target_count, (unsigned long)(need / 1000), (unsigned long)moved);
    for (vertex = 0; vertex < cloth.vertex_count; ++vertex) {
        const float *at = cloth.points + 3 * (size_t)vertex;
        printf("v %.9g %.9g %.9g\n", (double)at[0], (double)at[1], (double)at[2]);
    }
    free(weights);
    free(memory);
    return 0;
}

int main(int count, char **words) {
    dressform_file file;
    dressform_status status;
    unsigned char *glb;
    void *tables;
    size_t size = 0, need = 0;
    uint32_t mesh, primitive;
    int failed = 0;
    if (count < 2) {
        fprintf(stderr, "usage: example GARMENT.glb [NAME=WEIGHT...]\n");
        return 2;
    }
    if (!(glb = read_whole(words[1], &size))) return fail(words[1], DRESSFORM_CUT_SHORT);
    if ((status = dressform_file_size(glb, size, &need))) return fail(words[1], status);
    tables = malloc(need);
    if ((status = dressform_file_open(&file, glb, size, tables, need))) return fail(words[1], status);
    for (mesh = 0; mesh < file.mesh_count; ++mesh)
        for (primitive = 0; primitive < dressform_primitive_count(&file, mesh); ++primitive)
            failed |= follow(&file, mesh, primitive, count - 2, words + 2);
    free(tables);
    free(glb);
    return failed;
}
