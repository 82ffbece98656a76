/* What following costs: bench GARMENT.glb ACTIVE. Best and middle of many runs, in microseconds, one line a row. */
#define _POSIX_C_SOURCE 199309L
#define DRESSFORM_FOLLOW_IMPLEMENTATION
#include "dressform_follow.h"

#include <stdio.h>
#include <stdlib.h>
#include <time.h>

#define RUNS 400
#define ROUNDS 10

static double now(void) {
    struct timespec time;
    clock_gettime(CLOCK_MONOTONIC, &time);
    return (double)time.tv_sec * 1e6 + (double)time.tv_nsec * 1e-3;
}

static int by_size(const void *one, const void *other) {
    double a = *(const double *)one, b = *(const double *)other;
    return (a > b) - (a < b);
}

/* Follows with `active` weights of which `changing` move each time. */
static void row(const char *name, dressform_cloth *cloth, float *weights, uint32_t active, uint32_t changing) {
    static double best[ROUNDS], times[RUNS];
    double middle = 0;
    uint32_t target;
    int run, round;
    for (round = 0; round < ROUNDS; ++round) {
        for (run = 0; run < RUNS; ++run) {
            double start;
            for (target = 0; target < cloth->target_count; ++target) {
                int is_moving = target < changing;
                weights[target] = target < active ? 0.5f + (is_moving ? 0.001f * (float)(run % 2 + 1) : 0.0f) : 0.0f;
            }
            start = now();
            if (dressform_follow(cloth, weights, cloth->target_count)) exit(1);
            times[run] = now() - start;
        }
        qsort(times, RUNS, sizeof *times, by_size);
        best[round] = times[0];
        middle += times[RUNS / 2] / ROUNDS;
    }
    qsort(best, ROUNDS, sizeof *best, by_size);
    printf("%s\t%.2f\t%.2f\n", name, best[0], middle);
}

static void *file_of(const char *path, size_t *size) {
    FILE *file = fopen(path, "rb");
    void *bytes = NULL;
    long length;
    if (!file || fseek(file, 0, SEEK_END) || (length = ftell(file)) < 0 || fseek(file, 0, SEEK_SET)) exit(2);
    *size = (size_t)length;
    if (!(bytes = malloc(*size + 1)) || fread(bytes, 1, *size, file) != *size) exit(2);
    fclose(file);
    return bytes;
}

int main(int count, char **words) {
    dressform_file file;
    dressform_cloth cloth;
    size_t size, need;
    void *glb, *tables, *memory;
    float *weights;
    uint32_t active;
    if (count != 3) return 2;
    glb = file_of(words[1], &size);
    active = (uint32_t)atoi(words[2]);
    if (dressform_file_size(glb, size, &need) || !(tables = malloc(need))) return 2;
    if (dressform_file_open(&file, glb, size, tables, need)) return 2;
    if (dressform_cloth_size(&file, 0, 0, DRESSFORM_POSITION, &need) || !(memory = malloc(need))) return 2;
    if (dressform_cloth_open(&cloth, &file, 0, 0, DRESSFORM_POSITION, memory, need)) return 2;
    if (!(weights = (float *)calloc(cloth.target_count, sizeof *weights))) return 2;
    printf("memory\t%.2f\t0\n", (double)need / 1e6);
    row("all of them change", &cloth, weights, active, active);
    row("one of them changes", &cloth, weights, active, 1);
    row("none changes", &cloth, weights, active, 0);
    row("every target active, all change", &cloth, weights, cloth.target_count, cloth.target_count);
    free(weights), free(memory), free(tables), free(glb);
    return 0;
}
