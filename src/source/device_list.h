/* The dongles that are plugged in, and whether each can be used. Nothing is opened for it. */
#ifndef WH_DEVICE_LIST_H
#define WH_DEVICE_LIST_H

#include "usb_node.h"
#include "wheelhark/status.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#define WH_DEVICES_MAX 16

typedef struct wh_device {
    uint32_t index;   /* librtlsdr's number at this moment; changes when something is plugged, never shown */
    char serial[256]; /* always text: "00000002" is not 2. Empty when it cannot be read */
    char manufacturer[256], product[256];
    char model[128]; /* what librtlsdr calls its kind */
    char node[300];  /* "/dev/bus/usb/001/004"; empty when not known */
    bool needs_newer_driver;
    bool is_held;
    wh_holder holder; /* with is_held */
    wh_error problem; /* status WH_OK: usable. PERMISSION, BUSY, UNSUPPORTED, IO otherwise, with the fix */
} wh_device;

/* At most WH_DEVICES_MAX entries into devices; returns how many. */
size_t wh_device_list(const wh_system_roots *roots, wh_device *devices);

/* The device `serial` (NULL: whichever is plugged in). NOT_FOUND, ARGUMENT (several, and none was chosen). */
wh_status wh_device_find(const wh_system_roots *roots, const char *serial, wh_device *found, wh_error *error);

/* Models with another clock and input switch that the installed driver library (0.6.0) does not know: it opens them
 * without complaint and hears nothing. */
bool wh_device_needs_newer_driver(const char *manufacturer, const char *product);
/* Turn the answer of rtlsdr_open (a code of libusb) into words. `device` may have a holder. */
wh_status wh_device_open_error(int code, const wh_system_roots *roots, const wh_device *device, wh_error *error);

#endif
