/* The kernel's trees are built in a folder: /sys/bus/usb/devices and /proc as Documentation/ABI of Linux has them. */
#include "device_list.h"
#include "fake_rtlsdr.h"
#include "run_source.h"

#include <grp.h>
#include <stdio.h>
#include <stdlib.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

static char root[] = "/tmp/wheelhark-devices-XXXXXX";
static char sys_root[64], proc_root[64], dev_root[64];
static wh_system_roots roots;

static void shell(const char *format, ...) __attribute__((format(printf, 1, 2)));
static void shell(const char *format, ...)
{
    char command[2000];
    va_list arguments;
    va_start(arguments, format);
    vsnprintf(command, sizeof command, format, arguments);
    va_end(arguments);
    assert_int_equal(system(command), 0);
}

static void add_usb(const char *name, const char *vendor, const char *product_id, int number, const char *product,
                    const char *serial)
{
    shell("cd %s/bus/usb/devices && mkdir %s && cd %s && echo %s > idVendor && echo %s > idProduct && "
          "echo 1 > busnum && echo %d > devnum && echo Realtek > manufacturer && echo '%s' > product && "
          "{ test -z '%s' || echo '%s' > serial; }",
          sys_root, name, name, vendor, product_id, number, product, serial, serial);
    shell("mkdir -p %s/bus/usb/001 && : > %s/bus/usb/001/%03d", dev_root, dev_root, number);
}

static int begin(void **state)
{
    (void)state;
    fake_reset();
    shell("rm -rf %s/* && mkdir -p %s/bus/usb/devices/1-0:1.0 %s %s", root, sys_root, proc_root, dev_root);
    add_usb("usb1", "1d6b", "0002", 1, "xHCI Host Controller", "0000:00:14.0");
    add_usb("1-4", "0bda", "2838", 4, "RTL2838UHIDIR", "00000001");
    return 0;
}

static void hold(int pid, const char *program, int number)
{
    shell("mkdir -p %s/%d/fd && ln -s /dev/null %s/%d/fd/0 && ln -s %s/bus/usb/001/%03d %s/%d/fd/7 && "
          "echo '%s' > %s/%d/comm",
          proc_root, pid, proc_root, pid, dev_root, number, proc_root, pid, program, proc_root, pid);
}

static void test_usable(void **state)
{
    (void)state;
    wh_device devices[WH_DEVICES_MAX];
    assert_int_equal(wh_device_list(&roots, devices), 1);
    assert_string_equal(devices[0].serial, "00000001");
    assert_string_equal(devices[0].product, "RTL2838UHIDIR");
    assert_contains(devices[0].node, "/bus/usb/001/004");
    assert_false(devices[0].is_held);
    assert_int_equal(devices[0].problem.status, WH_OK);
}

static void test_holder_is_named(void **state)
{
    (void)state;
    wh_device devices[WH_DEVICES_MAX];
    hold(4711, "gqrx", 1); /* holds something else */
    hold((int)getpid(), "us", 4);
    assert_int_equal(wh_device_list(&roots, devices), 1);
    assert_false(devices[0].is_held);
    hold(815, "some radio", 4);
    assert_int_equal(wh_device_list(&roots, devices), 1);
    assert_true(devices[0].is_held);
    assert_int_equal(devices[0].problem.status, WH_ERR_BUSY);
    assert_contains(devices[0].problem.what, "held by some radio, process 815");
    assert_contains(devices[0].problem.fix, "end some radio (process 815)");
}

static void test_unreadable_device_is_found_in_the_kernels_tree(void **state)
{
    (void)state;
    add_usb("1-5", "0bda", "2832", 5, "RTL2832U", "77");
    fake.device_count = 2;
    fake.serials[0] = NULL; /* the first is the unreadable one */
    fake.serials[1] = "00000001";
    wh_device devices[WH_DEVICES_MAX];
    assert_int_equal(wh_device_list(&roots, devices), 2);
    assert_string_equal(devices[1].serial, "00000001");
    assert_int_equal(devices[1].problem.status, WH_OK);
    assert_string_equal(devices[0].serial, "77");
    assert_contains(devices[0].node, "/001/005");
    assert_int_equal(devices[0].problem.status, WH_ERR_PERMISSION);
    assert_contains(devices[0].problem.fix, "usermod -aG plugdev");
}

/* What somebody without rights sees. Root may use everything, so a child that is root becomes nobody first. */
static int look_without_rights(const char *path, const char *expected)
{
    char group[64];
    if (geteuid() == 0 && (setgid(65534) != 0 || setuid(65534) != 0))
        return 3;
    if (wh_usb_may_use(path, group, sizeof group))
        return 1;
    return strcmp(group, expected) == 0 ? 0 : 2;
}

static void test_permission_names_the_nodes_group(void **state)
{
    (void)state;
    char path[200], group[64];
    snprintf(path, sizeof path, "%s/bus/usb/001/004", dev_root);
    const struct group *owner = getgrgid(geteuid() == 0 ? 29 : getegid()); /* any group that is not root's */
    assert_non_null(owner);
    assert_int_equal(chown(path, geteuid(), owner->gr_gid), 0);
    assert_int_equal(chmod(path, geteuid() == 0 ? 0660 : 0000), 0);
    assert_int_equal(chmod(root, 0755), 0);
    const pid_t child = fork();
    if (child == 0)
        _exit(look_without_rights(path, owner->gr_name));
    int outcome;
    assert_int_equal(waitpid(child, &outcome, 0), child);
    assert_true(WIFEXITED(outcome));
    assert_int_equal(WEXITSTATUS(outcome), 0);
    assert_true(wh_usb_may_use("/nonexistent", group, sizeof group)); /* not there: no matter of rights */
    assert_string_equal(group, "plugdev");
}

static void test_newer_model(void **state)
{
    (void)state;
    fake.manufacturer = "RTLSDRBlog";
    fake.product = "Blog V4L";
    wh_device devices[WH_DEVICES_MAX];
    assert_int_equal(wh_device_list(&roots, devices), 1);
    assert_int_equal(devices[0].problem.status, WH_ERR_UNSUPPORTED);
    assert_contains(devices[0].problem.what, "hears nothing");
    assert_false(wh_device_needs_newer_driver("RTLSDRBlog", "Blog V3"));
    assert_false(wh_device_needs_newer_driver("Realtek", "Blog V4"));
}

static void test_names_cannot_steer_a_terminal(void **state)
{
    (void)state;
    hold(815, "evil\033[2J", 4);
    fake.manufacturer = "\033]0;x\007";
    wh_device devices[WH_DEVICES_MAX];
    assert_int_equal(wh_device_list(&roots, devices), 1);
    assert_string_equal(devices[0].manufacturer, "?]0;x?");
    assert_string_equal(devices[0].holder.program, "evil?[2J");
}

static void test_no_trees_at_all(void **state)
{
    (void)state;
    const wh_system_roots nowhere = {.sys = "/nonexistent", .proc = "/nonexistent", .dev = "/nonexistent"};
    wh_device devices[WH_DEVICES_MAX];
    assert_int_equal(wh_device_list(&nowhere, devices), 1);
    assert_string_equal(devices[0].node, "");
    assert_int_equal(devices[0].problem.status, WH_OK);
    fake.device_count = 0;
    assert_int_equal(wh_device_list(&nowhere, devices), 0);
}

int main(void)
{
    assert_non_null(mkdtemp(root));
    snprintf(sys_root, sizeof sys_root, "%s/sys", root);
    snprintf(proc_root, sizeof proc_root, "%s/proc", root);
    snprintf(dev_root, sizeof dev_root, "%s/dev", root);
    roots = (wh_system_roots){sys_root, proc_root, dev_root};
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup(test_usable, begin),
        cmocka_unit_test_setup(test_holder_is_named, begin),
        cmocka_unit_test_setup(test_unreadable_device_is_found_in_the_kernels_tree, begin),
        cmocka_unit_test_setup(test_permission_names_the_nodes_group, begin),
        cmocka_unit_test_setup(test_newer_model, begin),
        cmocka_unit_test_setup(test_names_cannot_steer_a_terminal, begin),
        cmocka_unit_test_setup(test_no_trees_at_all, begin),
    };
    const int failed = cmocka_run_group_tests(tests, NULL, NULL);
    char command[100];
    snprintf(command, sizeof command, "rm -rf %s", root);
    return system(command) != 0 || failed;
}
