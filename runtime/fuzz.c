/* Damages GLB files and follows what is left: fuzz ROUNDS SEED FILES... Ends with 1 where the impossible came out.
 *
 * Compile it with -fsanitize=address,undefined: every file, table and cloth then lies in memory of exactly its size, so
 * a byte read or written beyond it ends the program.
 */
#define DRESSFORM_FOLLOW_IMPLEMENTATION
#include "dressform_follow.h"

#include <stdio.h>
#include <stdlib.h>

#define STATUSES (DRESSFORM_BAD_WEIGHTS + 1)
#define MOST_BYTES ((size_t)1 << 26)

static uint64_t state;

static uint32_t chance(uint32_t below) { /* a linear congruential generator; its high bits are the better ones */
    state = state * 6364136223846793005u + 1442695040888963407u;
    return (uint32_t)(state >> 33) % below;
}

static void put(unsigned char *at, uint32_t value) {
    int i;
    for (i = 0; i < 4; ++i) at[i] = (unsigned char)(value >> 8 * i);
}

/* One to four changes: mostly of digits and letters of the JSON, since these say where everything lies. */
static size_t damage(unsigned char *bytes, size_t size) {
    static const char digits[] = "0123456789", marks[] = "{}[]\",:\\-.eu ";
    uint32_t changes = 1 + chance(4), json = size > 20 ? (uint32_t)bytes[12] + ((uint32_t)bytes[13] << 8) : 0;
    for (; changes && size > 24; --changes) {
        uint32_t at = 20 + chance(json && json < size - 20 ? json : (uint32_t)size - 20);
        switch (chance(8)) {
        case 0: bytes[chance((uint32_t)size)] ^= (unsigned char)(1u << chance(8)); break;
        case 1: bytes[at] = (unsigned char)marks[chance(sizeof marks - 1)]; break;
        case 2: put(bytes + chance((uint32_t)size - 4), chance(2) ? 0xffffffffu : 0x7fc00000u); break;
        case 3:
            size -= chance((uint32_t)size / 4);
            if (chance(2)) put(bytes + 8, (uint32_t)size);
            break;
        default: /* another digit where there is one */
            while (at < size && (bytes[at] < '0' || bytes[at] > '9')) ++at;
            if (at < size) bytes[at] = (unsigned char)digits[chance(10)];
        }
    }
    return size;
}

static void *exactly(size_t bytes) { /* more than this no honest small file asks for */
    return bytes > MOST_BYTES ? NULL : malloc(bytes);
}

static int is_sound(const dressform_cloth *cloth) {
    uint32_t first = 0, count = 0, seen = 0;
    while (dressform_next_run(cloth, &first, &count)) {
        if (!count || first + count > cloth->vertex_count || first < seen) return 0;
        seen = first + count;
    }
    return cloth->active_count <= cloth->target_count;
}

/* Opens one attribute and follows a few weights; what came of it. */
static dressform_status follow(const dressform_file *file, uint32_t mesh, uint32_t primitive, dressform_field field) {
    dressform_cloth cloth;
    size_t need;
    uint32_t turn, target;
    float *weights = NULL;
    void *memory = NULL;
    dressform_status status = dressform_cloth_size(file, mesh, primitive, field, &need);
    if (status) return status;
    if (!(memory = exactly(need))) return DRESSFORM_NEEDS_MEMORY;
    status = dressform_cloth_open(&cloth, file, mesh, primitive, field, memory, need);
    if (!status && (weights = (float *)malloc((cloth.target_count + 1) * sizeof *weights)) != NULL) {
        for (turn = 0; turn < 4; ++turn) {
            for (target = 0; target < cloth.target_count; ++target) weights[target] = (float)chance(3) - 1.0f;
            if (dressform_follow(&cloth, weights, cloth.target_count) || !is_sound(&cloth)) exit(1);
        }
    }
    free(weights);
    free(memory);
    return status;
}

/* Reads the table of sliders that share targets, where there is one, and mixes by it. */
static void mix(const dressform_file *file, uint32_t mesh) {
    dressform_table table;
    size_t floats;
    float *memory, *weights;
    uint32_t slider;
    if (dressform_table_size(file, mesh, &floats) || floats > MOST_BYTES / sizeof *memory) return;
    memory = (float *)malloc(floats ? floats * sizeof *memory : 1);
    if (memory && !dressform_table_open(&table, file, mesh, memory, floats)) {
        weights = (float *)malloc((table.slider_count + table.target_count) * sizeof *weights);
        for (slider = 0; weights && slider < table.slider_count; ++slider)
            weights[table.target_count + slider] = (float)chance(3) - 1.0f;
        if (weights) dressform_mix(&table, weights + table.target_count, weights);
        free(weights);
    }
    dressform_slider_find(file, mesh, "belly");
    free(memory);
}

static dressform_status play(const unsigned char *bytes, size_t size, unsigned long counts[STATUSES]) {
    dressform_file file;
    char name[8];
    size_t need;
    void *memory;
    uint32_t mesh, primitive;
    dressform_status status = dressform_file_size(bytes, size, &need);
    if (status) return status;
    if (!(memory = exactly(need))) return DRESSFORM_NEEDS_MEMORY;
    status = dressform_file_open(&file, bytes, size, memory, need);
    for (mesh = 0; !status && mesh < file.mesh_count && mesh < 8; ++mesh) {
        dressform_target_name(&file, mesh, chance(9), name, 1 + chance(sizeof name));
        dressform_target_find(&file, mesh, "belly");
        dressform_target_count(&file, mesh, chance(3));
        mix(&file, mesh);
        for (primitive = 0; primitive < dressform_primitive_count(&file, mesh) && primitive < 8; ++primitive) {
            ++counts[follow(&file, mesh, primitive, DRESSFORM_POSITION)];
            ++counts[follow(&file, mesh, primitive, DRESSFORM_NORMAL)];
        }
    }
    free(memory);
    return status;
}

int main(int count, char **words) {
    unsigned long counts[STATUSES] = {0}, rounds, round;
    int number;
    if (count < 4) return 2;
    rounds = strtoul(words[1], NULL, 10);
    state = strtoul(words[2], NULL, 10);
    for (number = 3; number < count; ++number) {
        FILE *file = fopen(words[number], "rb");
        unsigned char *whole, *damaged;
        long size;
        if (!file || fseek(file, 0, SEEK_END) || (size = ftell(file)) <= 0 || fseek(file, 0, SEEK_SET)) return 2;
        if (!(whole = (unsigned char *)malloc((size_t)size))) return 2;
        if (fread(whole, 1, (size_t)size, file) != (size_t)size) return 2;
        fclose(file);
        for (round = 0; round < rounds; ++round) {
            size_t left;
            if (!(damaged = (unsigned char *)malloc((size_t)size))) return 2;
            memcpy(damaged, whole, (size_t)size);
            left = damage(damaged, (size_t)size);
            if (!(damaged = (unsigned char *)realloc(damaged, left))) return 2;
            ++counts[play(damaged, left, counts)];
            free(damaged);
        }
        free(whole);
    }
    for (number = 0; number < (int)STATUSES; ++number)
        printf("%lu\t%s\n", counts[number], dressform_says((dressform_status)number));
    return 0;
}
