#include "http_client.h"

#include <arpa/inet.h>
#include <netinet/in.h>
#include <stdlib.h>
#include <string.h>
#include <sys/socket.h>
#include <sys/time.h>
#include <unistd.h>

int http_connect(uint16_t port)
{
    const struct timeval patience = {.tv_sec = 10};
    const struct sockaddr_in at = {
        .sin_family = AF_INET, .sin_port = htons(port), .sin_addr = {htonl(INADDR_LOOPBACK)}};
    const int fd = socket(AF_INET, SOCK_STREAM, 0);
    if (fd < 0)
        return -1;
    setsockopt(fd, SOL_SOCKET, SO_RCVTIMEO, &patience, sizeof patience);
    if (connect(fd, (const struct sockaddr *)&at, sizeof at) != 0) {
        close(fd);
        return -1;
    }
    return fd;
}

bool http_send(int socket, const char *bytes, size_t length)
{
    while (length > 0) {
        const ssize_t sent = send(socket, bytes, length, MSG_NOSIGNAL);
        if (sent <= 0)
            return false;
        bytes += sent;
        length -= (size_t)sent;
    }
    return true;
}

size_t http_receive(int socket, char *text, size_t capacity, const char *until)
{
    size_t length = 0;
    text[0] = '\0';
    while (length + 1 < capacity) {
        const ssize_t got = recv(socket, text + length, capacity - 1 - length, 0);
        if (got <= 0)
            break;
        length += (size_t)got;
        text[length] = '\0';
        if (until && strstr(text, until))
            break;
    }
    return length;
}

int http_ask(uint16_t port, const char *request, char *answer, size_t capacity)
{
    const int fd = http_connect(port);
    answer[0] = '\0';
    if (fd < 0)
        return 0;
    http_send(fd, request, strlen(request));
    http_receive(fd, answer, capacity, NULL);
    close(fd);
    return strncmp(answer, "HTTP/1.", 7) == 0 ? atoi(answer + 9) : 0;
}
