#include "connect.h"

#include "source_impl.h"

#include <errno.h>
#include <fcntl.h>
#include <netdb.h>
#include <poll.h>
#include <string.h>
#include <sys/socket.h>
#include <unistd.h>

#define CHECK_FIX "check the address, that the server runs, and the network"

static int time_left(int64_t until)
{
    const int64_t left = until - wh_source_monotonic_ms();
    return left > 0 ? (int)left : 0;
}

/* One address: 0 or the errno that tells why not. */
static int try_address(const struct addrinfo *address, int64_t until, int *out)
{
    const int fd = socket(address->ai_family, address->ai_socktype, address->ai_protocol);
    if (fd < 0)
        return errno;
    int code = 0;
    const int flags = fcntl(fd, F_GETFL);
    if (flags < 0 || fcntl(fd, F_SETFL, flags | O_NONBLOCK) < 0 || fcntl(fd, F_SETFD, FD_CLOEXEC) < 0) {
        code = errno;
    } else if (connect(fd, address->ai_addr, address->ai_addrlen) != 0) {
        code = errno;
        if (code == EINPROGRESS) {
            struct pollfd wait = {.fd = fd, .events = POLLOUT};
            socklen_t length = sizeof code;
            const int ready = poll(&wait, 1, time_left(until));
            if (ready == 0)
                code = ETIMEDOUT;
            else if (ready < 0 || getsockopt(fd, SOL_SOCKET, SO_ERROR, &code, &length) < 0)
                code = errno;
        }
    }
    if (code != 0)
        close(fd);
    else
        *out = fd;
    return code;
}

wh_status wh_connect(const char *host, const char *port, int limit_ms, int *out, wh_error *error)
{
    const int64_t until = wh_source_monotonic_ms() + limit_ms;
    const struct addrinfo hints = {.ai_family = AF_UNSPEC, .ai_socktype = SOCK_STREAM};
    struct addrinfo *list = NULL;
    const int answer = getaddrinfo(host, port, &hints, &list);
    if (answer != 0)
        return wh_fail(error, WH_ERR_NOT_FOUND, "check the spelling of the host and the network", "%s: %s", host,
                       gai_strerror(answer));
    int code = ETIMEDOUT;
    for (const struct addrinfo *address = list; address; address = address->ai_next) {
        code = try_address(address, until, out);
        if (code == 0)
            break;
    }
    freeaddrinfo(list);
    if (code == 0)
        return WH_OK;
    if (code == EINTR)
        return wh_fail(error, WH_ERR_IO, NULL, "%s:%s: interrupted", host, port);
    if (code == ETIMEDOUT)
        return wh_fail(error, WH_ERR_NOT_FOUND, CHECK_FIX, "%s:%s: no answer within %g s", host, port,
                       limit_ms / 1000.0);
    return wh_fail(error, WH_ERR_NOT_FOUND, CHECK_FIX, "%s:%s: no connection: %s", host, port, strerror(code));
}

wh_status wh_send_all(int fd, const void *bytes, size_t count, int limit_ms, const char *peer, wh_error *error)
{
    const int64_t until = wh_source_monotonic_ms() + limit_ms;
    size_t sent = 0;
    while (sent < count) {
        const ssize_t now = send(fd, (const char *)bytes + sent, count - sent, MSG_NOSIGNAL);
        if (now >= 0) {
            sent += (size_t)now;
            continue;
        }
        struct pollfd wait = {.fd = fd, .events = POLLOUT};
        if (errno != EAGAIN && errno != EWOULDBLOCK)
            return wh_fail(error, WH_ERR_GONE, CHECK_FIX, "%s: sending failed: %s", peer, strerror(errno));
        if (poll(&wait, 1, time_left(until)) == 0)
            return wh_fail(error, WH_ERR_GONE, CHECK_FIX, "%s: does not take commands", peer);
    }
    return WH_OK;
}
