/* The library never prints. What it has to say goes to this callback. */
#ifndef WHEELHARK_LOG_H
#define WHEELHARK_LOG_H

typedef enum wh_log_level { WH_LOG_ERROR, WH_LOG_WARNING, WH_LOG_NOTE, WH_LOG_DETAIL } wh_log_level;

/* `text` has no line end and is valid during the call only. */
typedef void (*wh_log_fn)(void *context, wh_log_level level, const char *text);

/* A log target; a NULL `write` discards everything. */
typedef struct wh_log {
    wh_log_fn write;
    void *context;
} wh_log;

/* Format and hand on one message. `log` may be NULL. */
void wh_log_print(const wh_log *log, wh_log_level level, const char *format, ...) __attribute__((format(printf, 3, 4)));

#endif
