/* What the Linux kernel tells about USB devices (sysfs), readable by everybody, and who has one open (procfs). */
#ifndef WH_USB_NODE_H
#define WH_USB_NODE_H

#include <stdbool.h>
#include <stddef.h>

/* Where the kernel's trees are; other places in tests. */
typedef struct wh_system_roots {
    const char *sys;  /* "/sys" */
    const char *proc; /* "/proc" */
    const char *dev;  /* "/dev" */
} wh_system_roots;

extern const wh_system_roots wh_system_roots_default;

typedef struct wh_usb_node {
    char manufacturer[128], product[128], serial[128]; /* empty when the device does not tell */
    unsigned vendor_id, product_id;
    char path[300]; /* "/dev/bus/usb/001/004" */
    bool taken;     /* for the caller: already matched to something */
} wh_usb_node;

/* At most `room` devices, in the order of their names; returns how many. */
size_t wh_usb_nodes(const wh_system_roots *roots, wh_usb_node *nodes, size_t room);

typedef struct wh_holder {
    long pid;
    char program[64];
} wh_holder;

/* Another process that has `path` open. False: none found (processes of other users are hidden from all but root). */
bool wh_usb_holder(const wh_system_roots *roots, const char *path, wh_holder *holder);
/* Names that devices and processes give themselves: what could steer a terminal becomes '?'. */
void wh_printable(char *text);
/* May this process use `path`? Otherwise *group is the name of the group that may ("plugdev" when not known). */
bool wh_usb_may_use(const char *path, char *group, size_t room);

#endif
