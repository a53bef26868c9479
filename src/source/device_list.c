#include "device_list.h"

#include <rtl-sdr.h>
#include <stdio.h>
#include <string.h>

/* Codes of libusb (enum libusb_error), which rtlsdr_open hands through. */
#define USB_ACCESS        (-3)
#define USB_NO_DEVICE     (-4)
#define USB_BUSY          (-6)
#define USB_NOT_SUPPORTED (-12)

#define GONE_FIX         "plug the dongle in again, best without a hub or a long cable"
#define NEWER_DRIVER_FIX "use another dongle, or a system with a driver library newer than 0.6"

bool wh_device_needs_newer_driver(const char *manufacturer, const char *product)
{
    return strcmp(manufacturer, "RTLSDRBlog") == 0 && strncmp(product, "Blog V4", 7) == 0;
}

static const char *called(const wh_device *device)
{
    return device->serial[0] ? device->serial : "without a readable serial number";
}

static wh_status permission_error(const wh_device *device, wh_error *error)
{
    char group[64], fix[200];
    wh_usb_may_use(device->node, group, sizeof group);
    snprintf(fix, sizeof fix, "join the group %s (sudo usermod -aG %s \"$USER\"), then log out and in", group, group);
    return wh_fail(error, WH_ERR_PERMISSION, fix, "dongle %s: you have no right to use it", called(device));
}

static wh_status busy_error(const wh_device *device, wh_error *error)
{
    if (!device->is_held)
        return wh_fail(error, WH_ERR_BUSY, "close the other program; \"sudo wheelhark doctor\" can tell which it is",
                       "dongle %s: held by another program", called(device));
    char fix[200];
    snprintf(fix, sizeof fix, "end %s (process %ld), then try again", device->holder.program, device->holder.pid);
    return wh_fail(error, WH_ERR_BUSY, fix, "dongle %s: held by %s, process %ld", called(device),
                   device->holder.program, device->holder.pid);
}

wh_status wh_device_open_error(int code, const wh_system_roots *roots, const wh_device *device, wh_error *error)
{
    wh_device now = *device;
    switch (code) {
    case USB_ACCESS: return permission_error(device, error);
    case USB_BUSY: now.is_held = wh_usb_holder(roots, now.node, &now.holder); return busy_error(&now, error);
    case USB_NO_DEVICE:
        return wh_fail(error, WH_ERR_GONE, GONE_FIX, "dongle %s: went away while it was opened", called(device));
    case USB_NOT_SUPPORTED:
        return wh_fail(error, WH_ERR_BUSY, "unload the television driver: sudo rmmod dvb_usb_rtl28xxu",
                       "dongle %s: the kernel's television driver keeps it", called(device));
    default:
        return wh_fail(error, WH_ERR_IO, GONE_FIX, "dongle %s: cannot be started (USB error %d)", called(device), code);
    }
}

/* Which node is this device? With a serial number that is sure; without one, the next node with the chip maker's own
 * numbers (0bda:2832, 0bda:2838) that nothing else was matched to. */
static wh_usb_node *match(const wh_device *device, bool readable, wh_usb_node *nodes, size_t count)
{
    for (size_t i = 0; i < count; i++) {
        wh_usb_node *node = &nodes[i];
        const bool same = strcmp(node->serial, device->serial) == 0 && strcmp(node->product, device->product) == 0;
        const bool chip = node->vendor_id == 0x0bda && (node->product_id == 0x2832 || node->product_id == 0x2838);
        if (!node->taken && (readable ? same : chip))
            return node;
    }
    return NULL;
}

static void fill_strings(wh_device *device, wh_usb_node *node, bool readable)
{
    if (!node)
        return;
    node->taken = true;
    snprintf(device->node, sizeof device->node, "%s", node->path);
    if (readable)
        return;
    snprintf(device->serial, sizeof device->serial, "%s", node->serial);
    snprintf(device->manufacturer, sizeof device->manufacturer, "%s", node->manufacturer);
    snprintf(device->product, sizeof device->product, "%s", node->product);
}

static void judge(const wh_system_roots *roots, wh_device *device, bool readable)
{
    char group[64];
    device->needs_newer_driver = wh_device_needs_newer_driver(device->manufacturer, device->product);
    device->is_held = wh_usb_holder(roots, device->node, &device->holder);
    wh_error_clear(&device->problem);
    if (!wh_usb_may_use(device->node, group, sizeof group) || (!readable && !device->is_held))
        permission_error(device, &device->problem);
    else if (device->is_held)
        busy_error(device, &device->problem);
    else if (device->needs_newer_driver)
        wh_fail(&device->problem, WH_ERR_UNSUPPORTED, NEWER_DRIVER_FIX,
                "dongle %s (%s): newer than the installed driver library, which opens it but hears nothing with it",
                called(device), device->product);
}

/* The names the device gives itself. */
static bool read_strings(uint32_t index, wh_device *device)
{
    if (rtlsdr_get_device_usb_strings(index, device->manufacturer, device->product, device->serial) != 0)
        return false;
    wh_printable(device->manufacturer);
    wh_printable(device->product);
    wh_printable(device->serial);
    return true;
}

size_t wh_device_list(const wh_system_roots *roots, wh_device *devices)
{
    wh_usb_node nodes[64];
    bool readable[WH_DEVICES_MAX];
    const size_t node_count = wh_usb_nodes(roots, nodes, sizeof nodes / sizeof *nodes);
    const uint32_t there = rtlsdr_get_device_count();
    const size_t count = there < WH_DEVICES_MAX ? there : WH_DEVICES_MAX;
    for (uint32_t i = 0; i < count; i++) {
        wh_device *device = &devices[i];
        memset(device, 0, sizeof *device);
        device->index = i;
        snprintf(device->model, sizeof device->model, "%s", rtlsdr_get_device_name(i));
        readable[i] = read_strings(i, device);
        if (readable[i])
            fill_strings(device, match(device, true, nodes, node_count), true);
    }
    /* The unreadable ones last: what is left over is theirs. */
    for (uint32_t i = 0; i < count; i++) {
        if (!readable[i]) {
            devices[i].serial[0] = devices[i].manufacturer[0] = devices[i].product[0] = '\0';
            fill_strings(&devices[i], match(&devices[i], false, nodes, node_count), false);
        }
        judge(roots, &devices[i], readable[i]);
    }
    return count;
}

static void name_serials(const wh_device *devices, size_t count, char *text, size_t room)
{
    size_t used = 0;
    text[0] = '\0';
    for (size_t i = 0; i < count && used < room; i++)
        used += (size_t)snprintf(text + used, room - used, "%s%s", i ? ", " : "", called(&devices[i]));
}

wh_status wh_device_find(const wh_system_roots *roots, const char *serial, wh_device *found, wh_error *error)
{
    wh_device devices[WH_DEVICES_MAX];
    const size_t count = wh_device_list(roots, devices);
    if (count == 0)
        return wh_fail(error, WH_ERR_NOT_FOUND, "plug one in; \"wheelhark devices\" lists what is there",
                       "no dongle is plugged in");
    char names[200];
    name_serials(devices, count, names, sizeof names);
    size_t matches = 0;
    for (size_t i = 0; i < count; i++) {
        if (!serial || strcmp(devices[i].serial, serial) == 0) {
            *found = devices[i];
            matches++;
        }
    }
    if (matches == 1)
        return WH_OK;
    if (matches == 0)
        return wh_fail(error, WH_ERR_NOT_FOUND, "write the serial number just as \"wheelhark devices\" shows it",
                       "no dongle with serial number %.100s; there is %s", serial, names);
    if (serial)
        return wh_fail(error, WH_ERR_ARGUMENT, "unplug the others, or give each its own serial number",
                       "%zu dongles have the serial number %.100s", matches, serial);
    return wh_fail(error, WH_ERR_ARGUMENT, "choose one by its serial number, e.g. dongle=SERIAL",
                   "%zu dongles are plugged in: %s", count, names);
}
