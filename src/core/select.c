#include "select.h"

static void swap(float *a, float *b)
{
    const float t = *a;
    *a = *b;
    *b = t;
}

/* Hoare's selection with the median of three as pivot. */
float wh_select(float *values, size_t count, size_t index)
{
    size_t low = 0, high = count - 1;
    while (low < high) {
        const size_t middle = low + (high - low) / 2;
        if (values[middle] < values[low])
            swap(&values[middle], &values[low]);
        if (values[high] < values[low])
            swap(&values[high], &values[low]);
        if (values[high] < values[middle])
            swap(&values[high], &values[middle]);
        const float pivot = values[middle];
        size_t i = low, j = high;
        while (i <= j) {
            while (values[i] < pivot)
                i++;
            while (values[j] > pivot)
                j--;
            if (i > j)
                break;
            swap(&values[i], &values[j]);
            i++;
            if (j == 0)
                break;
            j--;
        }
        if (index <= j)
            high = j;
        else if (index >= i)
            low = i;
        else
            break;
    }
    return values[index];
}

float wh_quantile(float *values, size_t count, double share)
{
    return wh_select(values, count, (size_t)(share * (double)(count - 1)));
}
