/* Just enough of HTTP to ask a server on this computer rude questions. */
#ifndef HTTP_CLIENT_H
#define HTTP_CLIENT_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

/* A socket connected to the port on 127.0.0.1; -1 when that fails. */
int http_connect(uint16_t port);
/* Send all of it. */
bool http_send(int socket, const char *bytes, size_t length);
/* Receive into text[capacity] (NUL-terminated) until the peer closes, `until` was received (may be NULL), or 10 s are over. */
size_t http_receive(int socket, char *text, size_t capacity, const char *until);
/* One request whole ("GET / HTTP/1.1\r\n...") and its answer, on a connection of its own, which the request should close.
 * Returns the status, 0 when none came. */
int http_ask(uint16_t port, const char *request, char *answer, size_t capacity);

#endif
