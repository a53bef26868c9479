/* The faults that reception is measured with, by the names they have in the tables. */
#ifndef MODEM_FAULTS_H
#define MODEM_FAULTS_H

#include "modem_spoilt.h"

typedef struct modem_fault {
    const char *name;
    modem_spoil spoil;
} modem_fault;

extern const modem_fault modem_faults[];
extern const size_t modem_fault_count;

/* NULL when there is none of that name. */
const modem_spoil *modem_fault_find(const char *name);

#endif
