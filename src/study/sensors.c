/* Frames are joined step by step, the two nearest groups first (mean number of differing columns: average linkage). Of all
 * stages the one is taken that describes the frames in the fewest bits:
 *     who sent which frame (label_bits), and for every column the cheapest of
 *         one number of ones over all frames,            log2(n + 1) + log2 C(n, ones)
 *         changes from frame to frame in order of time,  1 + log2 n + log2 C(n - 1, changes)
 *         one value for each group,                      2 + k
 *         a number of ones for each group,               sum over the groups.
 * The second keeps slow numbers from being taken for sensors: they change rarely, but do not come back. */
#include "sensors.h"

#include "bits.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define SENSOR_BITS                                                                                                    \
    16.0 /* a further sensor must save so much: one carry in a pressure that changes once saves up to 20, an ID 60 */
#define DISTINCT_MAX 160 /* different frames that are compared with each other; the rest join the nearest of them */

typedef struct grouping {
    wh_field_rows *rows;
    wh_frame_bits mask; /* ones: columns that are compared */
    unsigned count;     /* different frames */
    wh_frame_bits frame[DISTINCT_MAX];
    int known[DISTINCT_MAX];
    unsigned *index; /* of every row: its frame */
    unsigned group[DISTINCT_MAX], best[DISTINCT_MAX];
    double distance[DISTINCT_MAX][DISTINCT_MAX];
} grouping;

static unsigned differing(const wh_frame_bits *a, const wh_frame_bits *b)
{
    unsigned sum = 0;
    for (size_t i = 0; i < sizeof a->data; i++)
        sum += (unsigned)__builtin_popcount(a->data[i] ^ b->data[i]);
    return sum;
}

static int known_sensor(const wh_field_row *row, const int *known, size_t recordings)
{
    return known && row->recording < recordings ? known[row->recording] : -1;
}

static void collect(grouping *g, const int *known, size_t recordings)
{
    for (size_t i = 0; i < g->rows->count; i++) {
        wh_frame_bits masked = g->rows->row[i].bits;
        const int sensor = known_sensor(&g->rows->row[i], known, recordings);
        for (size_t k = 0; k < sizeof masked.data; k++)
            masked.data[k] &= g->mask.data[k];
        unsigned nearest = 0, least = WH_FRAME_BITS_MAX + 1;
        for (unsigned k = 0; k < g->count; k++) {
            const unsigned apart = g->known[k] == sensor ? differing(&masked, &g->frame[k]) : WH_FRAME_BITS_MAX;
            if (apart < least) {
                least = apart;
                nearest = k;
            }
        }
        if (least > 0 && g->count < DISTINCT_MAX) {
            nearest = g->count++;
            g->frame[nearest] = masked;
            g->known[nearest] = sensor;
        }
        g->index[i] = nearest;
    }
}

static double choose_bits(unsigned n, unsigned k)
{
    return (lgamma(n + 1.0) - lgamma(k + 1.0) - lgamma(n - k + 1.0)) / log(2.0);
}

static double count_bits(unsigned n, unsigned ones)
{
    return n ? log2(n + 1.0) + choose_bits(n, ones) : 0.0;
}

/* Bits that describe column c, given the groups. */
static double column_bits(const grouping *g, unsigned c, unsigned groups)
{
    unsigned total[WH_STUDY_SENSORS_MAX] = {0}, ones[WH_STUDY_SENSORS_MAX] = {0}, all_ones = 0, changes = 0, last = 2;
    const unsigned n = (unsigned)g->rows->count;
    for (unsigned i = 0; i < n; i++) {
        const unsigned bit = wh_bit_get(g->rows->row[i].bits.data, c), group = g->group[g->index[i]];
        total[group]++;
        ones[group] += bit;
        all_ones += bit;
        changes += last != 2 && bit != last;
        last = bit;
    }
    double grouped = 0.0;
    bool steady = true;
    for (unsigned k = 0; k < groups; k++) {
        grouped += count_bits(total[k], ones[k]);
        steady &= ones[k] == 0 || ones[k] == total[k];
    }
    if (steady)
        grouped = fmin(grouped, 2.0 + groups);
    const double plain = count_bits(n, all_ones), in_time = 1.0 + log2(n) + choose_bits(n - 1, changes);
    return fmin(grouped, fmin(plain, in_time));
}

/* Who sent which frame: a new sensor in a new recording is told by its number, within a recording by when it changes. */
static double label_bits(const grouping *g, unsigned groups)
{
    const unsigned n = (unsigned)g->rows->count;
    unsigned begun = 0, changes = 0;
    for (unsigned i = 0; i < n; i++) {
        const bool begins = i == 0 || g->rows->row[i].recording != g->rows->row[i - 1].recording;
        begun += begins;
        changes += !begins && g->group[g->index[i]] != g->group[g->index[i - 1]];
    }
    const double number = log2(groups), when = log2(n) + choose_bits(n - begun, changes) + changes * number;
    return SENSOR_BITS * groups + fmin(n * number, begun * number + (groups > 1 ? when : 0.0));
}

static double description_bits(const grouping *g, unsigned groups)
{
    double sum = label_bits(g, groups);
    for (unsigned c = 0; c < g->rows->columns; c++)
        if (wh_bit_get(g->mask.data, c))
            sum += column_bits(g, c, groups);
    return sum;
}

/* Columns with one value throughout group a and the other throughout group b. */
static unsigned separating(const grouping *g, unsigned a, unsigned b)
{
    wh_frame_bits both[2] = {{0}}, any[2] = {{0}};
    bool begun[2] = {false, false};
    for (unsigned i = 0; i < g->count; i++) {
        if (g->group[i] != a && g->group[i] != b)
            continue;
        const unsigned side = g->group[i] == b;
        for (size_t k = 0; k < sizeof both->data; k++) {
            both[side].data[k] = begun[side] ? both[side].data[k] & g->frame[i].data[k] : g->frame[i].data[k];
            any[side].data[k] |= g->frame[i].data[k];
        }
        begun[side] = true;
    }
    unsigned sum = 0;
    for (size_t k = 0; k < sizeof both->data; k++)
        sum += (unsigned)__builtin_popcount((both[0].data[k] & ~any[1].data[k]) | (both[1].data[k] & ~any[0].data[k]));
    return sum;
}

static bool all_separate(const grouping *g, unsigned groups)
{
    for (unsigned a = 0; a < groups; a++)
        for (unsigned b = a + 1; b < groups; b++)
            if (separating(g, a, b) < WH_SENSOR_COLUMNS_LEAST)
                return false;
    return true;
}

/* Groups are numbered by their first frame; returns how many. */
static unsigned number_groups(const unsigned *parent, unsigned count, unsigned *group)
{
    unsigned groups = 0;
    for (unsigned i = 0; i < count; i++)
        group[i] = parent[i] == i ? groups++ : group[parent[i]];
    return groups;
}

/* Must not (true), or must before others (*at_once), be joined. */
static bool forbidden(const grouping *g, unsigned a, unsigned b, bool *at_once)
{
    *at_once = g->known[a] >= 0 && g->known[a] == g->known[b];
    return g->known[a] >= 0 && g->known[b] >= 0 && g->known[a] != g->known[b];
}

/* Join and keep the best stage in g->best; returns its number of groups. */
static unsigned join_stages(grouping *g)
{
    unsigned parent[DISTINCT_MAX], size[DISTINCT_MAX], best_groups = 0;
    double least = INFINITY;
    for (unsigned i = 0; i < g->count; i++) {
        parent[i] = i;
        size[i] = 1;
        for (unsigned k = 0; k < g->count; k++)
            g->distance[i][k] = differing(&g->frame[i], &g->frame[k]);
    }
    for (;;) {
        unsigned from = 0, into = 0;
        double nearest = INFINITY;
        bool pending = false;
        for (unsigned i = 0; i < g->count; i++)
            for (unsigned k = 0; k < i && parent[i] == i; k++) {
                bool at_once;
                if (parent[k] != k || forbidden(g, i, k, &at_once))
                    continue;
                const double d = at_once ? g->distance[i][k] - 1e6 : g->distance[i][k];
                pending |= at_once;
                if (d < nearest) {
                    nearest = d;
                    from = i;
                    into = k;
                }
            }
        const unsigned groups = number_groups(parent, g->count, g->group);
        const bool last = nearest == INFINITY;
        if (!pending && groups <= WH_STUDY_SENSORS_MAX && (all_separate(g, groups) || (last && best_groups == 0))) {
            const double bits = description_bits(g, groups);
            if (best_groups == 0 || bits < least) {
                least = bits;
                best_groups = groups;
                memcpy(g->best, g->group, sizeof g->best);
            }
        }
        if (last)
            break;
        for (unsigned k = 0; k < g->count; k++) {
            const double mean =
                (size[into] * g->distance[into][k] + size[from] * g->distance[from][k]) / (size[into] + size[from]);
            g->distance[into][k] = g->distance[k][into] = mean;
        }
        if (g->known[into] < 0)
            g->known[into] = g->known[from];
        size[into] += size[from];
        for (unsigned k = 0; k < g->count; k++)
            if (parent[k] == from)
                parent[k] = into;
    }
    return best_groups ? best_groups : 1; /* more known sensors than can be kept apart: taken as one */
}

unsigned wh_sensors_tell_apart(wh_field_rows *rows, const wh_frame_bits *ignore, const int *known, size_t recordings,
                               wh_status *status)
{
    *status = WH_OK;
    if (rows->count == 0)
        return 0;
    grouping *g = calloc(1, sizeof *g);
    unsigned *index = malloc(rows->count * sizeof *index);
    unsigned groups = 0;
    if (!g || !index) {
        *status = WH_ERR_MEMORY;
    } else {
        g->rows = rows;
        g->index = index;
        for (unsigned c = 0; c < rows->columns; c++)
            wh_bit_put(g->mask.data, c, !wh_bit_get(ignore->data, c));
        collect(g, known, recordings);
        groups = join_stages(g);
        for (size_t i = 0; i < rows->count; i++)
            rows->row[i].sensor = g->best[index[i]];
    }
    free(index);
    free(g);
    return groups;
}
