#include "modem_faults.h"

#include <string.h>

const modem_fault modem_faults[] = {
    {"nothing but noise", {.copies = 1}},
    {"drift 2 kHz over the frame", {.drift_hz = 2e3}},
    {"drift 5 kHz over the frame", {.drift_hz = 5e3}},
    {"phase noise, line 100 Hz wide", {.linewidth_hz = 100.0}},
    {"phase noise, line 300 Hz wide", {.linewidth_hz = 300.0}},
    {"phase noise, line 1 kHz wide", {.linewidth_hz = 1e3}},
    {"rate 5 % off", {.rate_error = 0.05}},
    {"rate 10 % off, tolerance 10 %", {.rate_error = 0.10}},
    {"deviation 15 % off", {.deviation_error = 0.15}},
    {"deviation 25 % off", {.deviation_error = 0.25}},
    {"dip of 6 dB", {.dip_db = 6.0}},
    {"dip of 12 dB", {.dip_db = 12.0}},
    {"second ray 1 us late, -3 dB", {.ray_s = 1e-6, .ray_db = -3.0}},
    {"second ray 0.1 chip late, -3 dB", {.ray_s = 5e-6, .ray_db = -3.0}},
    {"second ray 0.25 chip late, -3 dB", {.ray_s = 12.5e-6, .ray_db = -3.0}},
    {"second ray 0.25 chip late, -6 dB", {.ray_s = 12.5e-6, .ray_db = -6.0}},
    {"0 Hz: offset of 1 step", {.dc = 1.0 / 127.5}},
    {"0 Hz: offset of 4 steps", {.dc = 4.0 / 127.5}},
    {"0 Hz: offset of 4 steps that begins late", {.dc = 4.0 / 127.5, .begins_late = true}},
    {"image 30 dB down", {.image_db = -30.0}},
    {"image 30 dB down, sensor 30 dB stronger at the mirror frequency",
     {.image_db = -30.0, .other = true, .other_mirrored = true, .other_db = 30.0}},
    {"steady carrier +10 dB at 50 kHz", {.carrier_db = 10.0, .carrier_off_hz = 50e3}},
    {"steady carrier +20 dB at 50 kHz", {.carrier_db = 20.0, .carrier_off_hz = 50e3}},
    {"steady carrier +30 dB at 50 kHz", {.carrier_db = 30.0, .carrier_off_hz = 50e3}},
    {"steady carrier +20 dB at 50 kHz that begins late",
     {.carrier_db = 20.0, .carrier_off_hz = 50e3, .begins_late = true}},
    {"steady carrier +10 dB at 150 kHz", {.carrier_db = 10.0, .carrier_off_hz = 150e3}},
    {"steady carrier +20 dB at 150 kHz", {.carrier_db = 20.0, .carrier_off_hz = 150e3}},
    {"steady carrier +30 dB at 150 kHz", {.carrier_db = 30.0, .carrier_off_hz = 150e3}},
    {"neighbour +10 dB at 100 kHz", {.other = true, .other_db = 10.0, .other_off_hz = 100e3}},
    {"neighbour +20 dB at 100 kHz", {.other = true, .other_db = 20.0, .other_off_hz = 100e3}},
    {"neighbour +30 dB at 100 kHz", {.other = true, .other_db = 30.0, .other_off_hz = 100e3}},
    {"neighbour +10 dB at 200 kHz", {.other = true, .other_db = 10.0, .other_off_hz = 200e3}},
    {"neighbour +20 dB at 200 kHz", {.other = true, .other_db = 20.0, .other_off_hz = 200e3}},
    {"neighbour +30 dB at 200 kHz", {.other = true, .other_db = 30.0, .other_off_hz = 200e3}},
    {"neighbour +10 dB at 400 kHz", {.other = true, .other_db = 10.0, .other_off_hz = 400e3}},
    {"neighbour +20 dB at 400 kHz", {.other = true, .other_db = 20.0, .other_off_hz = 400e3}},
    {"neighbour +30 dB at 400 kHz", {.other = true, .other_db = 30.0, .other_off_hz = 400e3}},
    {"pulses +10 dB, 20 us every 1 ms", {.pulses_db = 10.0, .pulse_s = 20e-6, .pulse_period_s = 1e-3}},
    {"pulses +20 dB, 20 us every 1 ms", {.pulses_db = 20.0, .pulse_s = 20e-6, .pulse_period_s = 1e-3}},
    {"pulses +20 dB, 20 us every 5 ms", {.pulses_db = 20.0, .pulse_s = 20e-6, .pulse_period_s = 5e-3}},
    {"pulses +20 dB, 100 us every 5 ms", {.pulses_db = 20.0, .pulse_s = 100e-6, .pulse_period_s = 5e-3}},
    {"sweep +10 dB, 400 kHz in 1 ms", {.sweep_db = 10.0, .sweep_hz = 400e3, .sweep_s = 1e-3}},
    {"sweep +20 dB, 400 kHz in 10 ms", {.sweep_db = 20.0, .sweep_hz = 400e3, .sweep_s = 10e-3}},
};
const size_t modem_fault_count = sizeof modem_faults / sizeof modem_faults[0];

const modem_spoil *modem_fault_find(const char *name)
{
    for (size_t i = 0; i < modem_fault_count; i++)
        if (strcmp(modem_faults[i].name, name) == 0)
            return &modem_faults[i].spoil;
    return NULL;
}
