/* Any bytes as what a server of samples sends before it hangs up, and as an address. */
#include "fuzz_drain.h"
#include "fuzz_target.h"
#include "network_protocol.h"
#include "source_network.h"

#include <sys/socket.h>
#include <unistd.h>

/* Must fit into the buffer of the socket: nobody reads while it is filled. */
#define BYTES_MAX 32768u

static void check_address(const uint8_t *data, size_t size)
{
    char text[300], host[32], port[6];
    const size_t length = size < sizeof text - 1 ? size : sizeof text - 1;
    memcpy(text, data, length);
    text[length] = '\0';
    if (wh_network_address_split(text, host, sizeof host, port)) {
        const long number = strtol(port, NULL, 10);
        fuzz_insist(host[0] != '\0' && number >= 1 && number <= 65535, "an address one can connect to");
    }
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    check_address(data, size);
    int ends[2];
    if (size > BYTES_MAX || socketpair(AF_UNIX, SOCK_STREAM, 0, ends) != 0)
        return 0;
    if (send(ends[1], data, size, MSG_DONTWAIT) != (ssize_t)size)
        abort();
    shutdown(ends[1], SHUT_WR);
    const wh_network_limits limits = {.connect_ms = 100, .header_ms = 100, .silence_ms = 100};
    wh_source_options options;
    wh_source *source;
    wh_error error;
    wh_source_options_defaults(&options);
    options.block_samples = size % 11;
    if (wh_network_open_socket(&options, &limits, ends[0], "peer", &source, &error) == WH_OK)
        fuzz_drain(source, size);
    else
        fuzz_insist(error.what[0] != '\0' && error.status != WH_OK, "every failure has words");
    close(ends[1]);
    return 0;
}
