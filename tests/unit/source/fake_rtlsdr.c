#include "fake_rtlsdr.h"

#include <stdio.h>
#include <string.h>
#include <time.h>

fake_rtlsdr fake;

static int handle; /* its address stands for an open device */

static void pause_1ms(void)
{
    const struct timespec time = {.tv_nsec = 1000000L};
    nanosleep(&time, NULL);
}

void fake_reset(void)
{
    memset(&fake, 0, sizeof fake);
    fake.device_count = 1;
    fake.serials[0] = "00000001";
    fake.manufacturer = "Realtek";
    fake.product = "RTL2838UHIDIR";
    fake.lengths[0] = 16384;
}

/* The names are the linker's: --wrap=NAME makes every call of NAME one of __wrap_NAME. */
uint32_t __wrap_rtlsdr_get_device_count(void);
const char *__wrap_rtlsdr_get_device_name(uint32_t index);
int __wrap_rtlsdr_get_device_usb_strings(uint32_t index, char *manufacturer, char *product, char *serial);
int __wrap_rtlsdr_get_usb_strings(rtlsdr_dev_t *device, char *manufacturer, char *product, char *serial);
int __wrap_rtlsdr_open(rtlsdr_dev_t **device, uint32_t index);
int __wrap_rtlsdr_close(rtlsdr_dev_t *device);
int __wrap_rtlsdr_set_sample_rate(rtlsdr_dev_t *device, uint32_t rate);
uint32_t __wrap_rtlsdr_get_sample_rate(rtlsdr_dev_t *device);
int __wrap_rtlsdr_set_center_freq(rtlsdr_dev_t *device, uint32_t centre);
uint32_t __wrap_rtlsdr_get_center_freq(rtlsdr_dev_t *device);
int __wrap_rtlsdr_get_freq_correction(rtlsdr_dev_t *device);
int __wrap_rtlsdr_set_freq_correction(rtlsdr_dev_t *device, int ppm);
int __wrap_rtlsdr_set_agc_mode(rtlsdr_dev_t *device, int on);
int __wrap_rtlsdr_set_tuner_gain_mode(rtlsdr_dev_t *device, int manual);
int __wrap_rtlsdr_get_tuner_gains(rtlsdr_dev_t *device, int *gains);
int __wrap_rtlsdr_set_tuner_gain(rtlsdr_dev_t *device, int gain);
int __wrap_rtlsdr_reset_buffer(rtlsdr_dev_t *device);
int __wrap_rtlsdr_read_async(rtlsdr_dev_t *device, rtlsdr_read_async_cb_t callback, void *context, uint32_t count,
                             uint32_t length);
int __wrap_rtlsdr_cancel_async(rtlsdr_dev_t *device);

uint32_t __wrap_rtlsdr_get_device_count(void)
{
    return fake.device_count;
}

const char *__wrap_rtlsdr_get_device_name(uint32_t index)
{
    return index < fake.device_count ? "Generic RTL2832U OEM" : "";
}

int __wrap_rtlsdr_get_device_usb_strings(uint32_t index, char *manufacturer, char *product, char *serial)
{
    if (!fake.serials[index])
        return -3;
    snprintf(manufacturer, 256, "%s", fake.manufacturer);
    snprintf(product, 256, "%s", fake.product);
    snprintf(serial, 256, "%s", fake.serials[index]);
    return 0;
}

int __wrap_rtlsdr_get_usb_strings(rtlsdr_dev_t *device, char *manufacturer, char *product, char *serial)
{
    (void)device;
    const int code = __wrap_rtlsdr_get_device_usb_strings(fake.opened_index, manufacturer, product, serial);
    if (fake.opened_serial)
        snprintf(serial, 256, "%s", fake.opened_serial);
    return code;
}

int __wrap_rtlsdr_open(rtlsdr_dev_t **device, uint32_t index)
{
    fake.opened_index = index;
    if (fake.open_code < 0)
        return fake.open_code;
    fake.opened++;
    *device = (rtlsdr_dev_t *)&handle;
    return 0;
}

int __wrap_rtlsdr_close(rtlsdr_dev_t *device)
{
    (void)device;
    fake.closed++;
    return 0;
}

int __wrap_rtlsdr_set_sample_rate(rtlsdr_dev_t *device, uint32_t rate)
{
    (void)device;
    fake.rate = rate;
    return fake.fail_setting;
}

uint32_t __wrap_rtlsdr_get_sample_rate(rtlsdr_dev_t *device)
{
    (void)device;
    return fake.rate;
}

int __wrap_rtlsdr_set_center_freq(rtlsdr_dev_t *device, uint32_t centre)
{
    (void)device;
    fake.centre = centre;
    return fake.fail_setting;
}

uint32_t __wrap_rtlsdr_get_center_freq(rtlsdr_dev_t *device)
{
    (void)device;
    return fake.centre;
}

int __wrap_rtlsdr_get_freq_correction(rtlsdr_dev_t *device)
{
    (void)device;
    return fake.ppm;
}

int __wrap_rtlsdr_set_freq_correction(rtlsdr_dev_t *device, int ppm)
{
    (void)device;
    if (ppm == fake.ppm)
        return -2; /* as the real one does: nothing to change is a failure */
    fake.ppm = ppm;
    return 0;
}

int __wrap_rtlsdr_set_agc_mode(rtlsdr_dev_t *device, int on)
{
    (void)device;
    return on ? -1 : 0;
}

int __wrap_rtlsdr_set_tuner_gain_mode(rtlsdr_dev_t *device, int manual)
{
    (void)device;
    fake.gain_mode = manual;
    return fake.fail_setting;
}

int __wrap_rtlsdr_get_tuner_gains(rtlsdr_dev_t *device, int *gains)
{
    static const int list[] = {0, 9, 14, 27, 297, 328, 496};
    (void)device;
    if (gains)
        memcpy(gains, list, sizeof list);
    return sizeof list / sizeof *list;
}

int __wrap_rtlsdr_set_tuner_gain(rtlsdr_dev_t *device, int gain)
{
    (void)device;
    fake.gain = gain;
    return fake.fail_setting;
}

int __wrap_rtlsdr_reset_buffer(rtlsdr_dev_t *device)
{
    (void)device;
    return 0;
}

static void send(rtlsdr_read_async_cb_t callback, void *context, uint8_t *next)
{
    static unsigned char bytes[65536];
    static uint32_t seed = 1;
    uint32_t length = fake.lengths[fake.sent % 4];
    if (length == 0)
        length = fake.lengths[0];
    for (uint32_t i = 0; i < length; i++) {
        seed = seed * 1664525u + 1013904223u;
        const uint8_t random = fake.span > 0 ? (uint8_t)(fake.low + (seed >> 16) % fake.span) : 0;
        bytes[i] = (unsigned char)(fake.span > 0 ? random : (*next)++);
    }
    callback(bytes, length, context);
    fake.sent++;
}

int __wrap_rtlsdr_read_async(rtlsdr_dev_t *device, rtlsdr_read_async_cb_t callback, void *context, uint32_t count,
                             uint32_t length)
{
    (void)device, (void)count, (void)length;
    uint8_t next = 0;
    fake.running = true;
    while (fake.hold_back && !fake.go && !fake.cancelled)
        pause_1ms();
    for (unsigned i = 0; i < fake.transfers && !fake.cancelled; i++) {
        while (fake.pause_after > 0 && i == fake.pause_after && !fake.go && !fake.cancelled)
            pause_1ms();
        send(callback, context, &next);
    }
    while (fake.then == THEN_SILENCE && !fake.cancelled)
        pause_1ms();
    while (fake.then == THEN_STUCK && !fake.release_stuck)
        pause_1ms();
    fake.running = false;
    return fake.then == THEN_UNPLUG ? -5 : 0;
}

int __wrap_rtlsdr_cancel_async(rtlsdr_dev_t *device)
{
    (void)device;
    if (!fake.running)
        return -2; /* as the real one: a request before the loop runs is forgotten */
    fake.cancelled = true;
    return 0;
}
