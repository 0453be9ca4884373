// Loaded before a program (LD_PRELOAD), writes down what it does to the files of one folder: data, sizes, names and syncs, in order and with times.
// From that log a test makes the folder as a power cut would have left it. CUT_FOLDER is the folder, CUT_LOG the log.
// Each entry: kind, time (CLOCK_MONOTONIC, ns), number of the file (inode), place, length of name, length of data; then name and data.
#define _GNU_SOURCE
#include <errno.h>
#include <fcntl.h>
#include <limits.h>
#include <pthread.h>
#include <stdarg.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/mman.h>
#include <sys/stat.h>
#include <sys/syscall.h>
#include <sys/uio.h>
#include <time.h>
#include <unistd.h>

#define MOST_FILES 65536

struct __attribute__((packed)) entry { uint8_t kind; uint64_t at, file, place; uint32_t name, data; };
enum { OPENED = 1, CREATED, WRITTEN, CUT_TO, SYNCED, FOLDER_SYNCED, RENAMED, REMOVED, FOLDER_MADE, UNSEEN };

static pthread_mutex_t turn = PTHREAD_MUTEX_INITIALIZER;
static char folder[PATH_MAX];
static size_t folder_length;
static int log_file = -1;
// What a descriptor is: 0 nothing of ours, else the file's number.
static uint64_t files[MOST_FILES];

static uint64_t now(void) {
    struct timespec t;
    clock_gettime(CLOCK_MONOTONIC, &t);
    return (uint64_t)t.tv_sec * 1000000000ull + (uint64_t)t.tv_nsec;
}

__attribute__((constructor)) static void begin(void) {
    const char *where = getenv("CUT_FOLDER"), *to = getenv("CUT_LOG");
    if (!where || !to || !realpath(where, folder)) return;
    folder_length = strlen(folder);
    log_file = (int)syscall(SYS_openat, AT_FDCWD, to, O_WRONLY | O_CREAT | O_APPEND | O_CLOEXEC, 0600);
}

static void put(int kind, uint64_t at, uint64_t file, uint64_t place, const char *name, const void *data, size_t length) {
    struct entry e = { (uint8_t)kind, at, file, place, name ? (uint32_t)strlen(name) : 0, (uint32_t)length };
    struct iovec parts[3] = { { &e, sizeof e }, { (void *)name, e.name }, { (void *)data, length } };
    if (syscall(SYS_writev, log_file, parts, 3) != (long)(sizeof e + e.name + length)) abort();
}

// The name within the folder, or NULL: the folder's own path is resolved, the last part need not be there.
static const char *within(const char *path, char *space) {
    if (log_file < 0 || !path) return NULL;
    char parent[PATH_MAX];
    if (strlen(path) >= PATH_MAX) return NULL;
    if (!realpath(path, space)) {
        strcpy(parent, path);
        char *slash = strrchr(parent, '/');
        if (slash) *slash = 0;
        if (!realpath(slash ? (*parent ? parent : "/") : ".", space)) return NULL;
        strcat(strcat(space, "/"), slash ? path + (slash - parent) + 1 : path);
    }
    if (strncmp(space, folder, folder_length)) return NULL;
    return space[folder_length] == '/' ? space + folder_length + 1 : space[folder_length] == 0 ? "." : NULL;
}

static int forgotten(const char *name) {
    size_t n = strlen(name);
    return n > 4 && !strcmp(name + n - 4, "-shm");
}

static int opened(int at, const char *path, int flags, mode_t mode) {
    char space[PATH_MAX];
    const char *name = at == AT_FDCWD || (path && *path == '/') ? within(path, space) : NULL;
    if (!name || forgotten(name)) return (int)syscall(SYS_openat, at, path, flags, mode);
    int keep = errno;
    pthread_mutex_lock(&turn);
    errno = keep;
    uint64_t begun = now();
    struct stat s;
    int there = stat(path, &s) == 0;
    int fd = (int)syscall(SYS_openat, at, path, flags, mode);
    keep = errno;
    if (fd >= 0 && fd < MOST_FILES && fstat(fd, &s) == 0) {
        files[fd] = S_ISDIR(s.st_mode) ? 0 : s.st_ino;
        if (files[fd]) put(there ? OPENED : CREATED, begun, s.st_ino, 0, name, NULL, 0);
        if (files[fd] && there && (flags & O_TRUNC)) put(CUT_TO, begun, s.st_ino, 0, NULL, NULL, 0);
    }
    pthread_mutex_unlock(&turn);
    errno = keep;
    return fd;
}

#define OPENING(fn) int fn(const char *path, int flags, ...) { \
    mode_t mode = 0; if (flags & (O_CREAT | O_TMPFILE)) { va_list a; va_start(a, flags); mode = va_arg(a, mode_t); va_end(a); } return opened(AT_FDCWD, path, flags, mode); }
OPENING(open)
OPENING(open64)
#define OPENING_AT(fn) int fn(int at, const char *path, int flags, ...) { \
    mode_t mode = 0; if (flags & (O_CREAT | O_TMPFILE)) { va_list a; va_start(a, flags); mode = va_arg(a, mode_t); va_end(a); } return opened(at, path, flags, mode); }
OPENING_AT(openat)
OPENING_AT(openat64)

static int ours(int fd) { return fd >= 0 && fd < MOST_FILES && files[fd]; }

int close(int fd) {
    if (fd >= 0 && fd < MOST_FILES) files[fd] = 0;
    return (int)syscall(SYS_close, fd);
}

static ssize_t wrote(int fd, const void *data, size_t length, int64_t place) {
    pthread_mutex_lock(&turn);
    uint64_t begun = now();
    int64_t from = place >= 0 ? place : (int64_t)lseek(fd, 0, fcntl(fd, F_GETFL) & O_APPEND ? SEEK_END : SEEK_CUR);
    ssize_t done = place >= 0 ? syscall(SYS_pwrite64, fd, data, length, place) : syscall(SYS_write, fd, data, length);
    int keep = errno;
    if (done > 0) put(WRITTEN, begun, files[fd], (uint64_t)from, NULL, data, (size_t)done);
    pthread_mutex_unlock(&turn);
    errno = keep;
    return done;
}

ssize_t write(int fd, const void *data, size_t length) { return ours(fd) ? wrote(fd, data, length, -1) : syscall(SYS_write, fd, data, length); }
ssize_t pwrite(int fd, const void *data, size_t length, off_t place) { return ours(fd) ? wrote(fd, data, length, place) : syscall(SYS_pwrite64, fd, data, length, place); }
ssize_t pwrite64(int fd, const void *data, size_t length, off64_t place) { return pwrite(fd, data, length, place); }

static ssize_t wrote_parts(int fd, const struct iovec *parts, int count, int64_t place) {
    ssize_t all = 0;
    for (int i = 0; i < count; i++) {
        ssize_t done = wrote(fd, parts[i].iov_base, parts[i].iov_len, place < 0 ? -1 : place + all);
        if (done < 0) return all ? all : done;
        all += done;
        if ((size_t)done < parts[i].iov_len) break;
    }
    return all;
}

ssize_t writev(int fd, const struct iovec *parts, int count) { return ours(fd) ? wrote_parts(fd, parts, count, -1) : syscall(SYS_writev, fd, parts, count); }
ssize_t pwritev(int fd, const struct iovec *parts, int count, off_t place) { return ours(fd) ? wrote_parts(fd, parts, count, place) : syscall(SYS_pwritev, fd, parts, count, (long)place, 0); }
ssize_t pwritev64(int fd, const struct iovec *parts, int count, off64_t place) { return pwritev(fd, parts, count, place); }

int ftruncate(int fd, off_t length) {
    if (!ours(fd)) return (int)syscall(SYS_ftruncate, fd, length);
    pthread_mutex_lock(&turn);
    uint64_t begun = now();
    int done = (int)syscall(SYS_ftruncate, fd, length), keep = errno;
    if (done == 0) put(CUT_TO, begun, files[fd], (uint64_t)length, NULL, NULL, 0);
    pthread_mutex_unlock(&turn);
    errno = keep;
    return done;
}
int ftruncate64(int fd, off64_t length) { return ftruncate(fd, length); }

// A folder may have been opened past us: .NET has no call for it, and what it looks up in libc itself it finds there.
static const char *folder_of(int fd, char *space) {
    char link[64];
    struct stat s;
    if (log_file < 0 || fstat(fd, &s) || !S_ISDIR(s.st_mode)) return NULL;
    snprintf(link, sizeof link, "/proc/self/fd/%d", fd);
    ssize_t n = readlink(link, space, PATH_MAX - 1);
    if (n < (ssize_t)folder_length) return NULL;
    space[n] = 0;
    return strncmp(space, folder, folder_length) ? NULL : n == (ssize_t)folder_length ? "." : space + folder_length + 1;
}

static int synced(int fd, long call) {
    char space[PATH_MAX];
    const char *name = folder_of(fd, space);
    if (!name && !ours(fd)) return (int)syscall(call, fd);
    pthread_mutex_lock(&turn);
    uint64_t begun = now();
    int done = (int)syscall(call, fd), keep = errno;
    if (done == 0) put(name ? FOLDER_SYNCED : SYNCED, begun, name ? 0 : files[fd], 0, name, NULL, 0);
    pthread_mutex_unlock(&turn);
    errno = keep;
    return done;
}

int fsync(int fd) { return synced(fd, SYS_fsync); }
int fdatasync(int fd) { return synced(fd, SYS_fdatasync); }

int rename(const char *from, const char *to) {
    char a[PATH_MAX], b[PATH_MAX];
    const char *old = within(from, a), *fresh = within(to, b);
    if (!old && fresh) put(UNSEEN, now(), 0, 0, "a file moved in", NULL, 0);
    if (!old || !fresh) return (int)syscall(SYS_renameat, AT_FDCWD, from, AT_FDCWD, to);
    pthread_mutex_lock(&turn);
    uint64_t begun = now();
    int done = (int)syscall(SYS_renameat, AT_FDCWD, from, AT_FDCWD, to), keep = errno;
    if (done == 0) put(RENAMED, begun, 0, 0, old, fresh, strlen(fresh));
    pthread_mutex_unlock(&turn);
    errno = keep;
    return done;
}

int unlink(const char *path) {
    char a[PATH_MAX];
    const char *name = within(path, a);
    if (!name || forgotten(name)) return (int)syscall(SYS_unlinkat, AT_FDCWD, path, 0);
    pthread_mutex_lock(&turn);
    uint64_t begun = now();
    int done = (int)syscall(SYS_unlinkat, AT_FDCWD, path, 0), keep = errno;
    if (done == 0) put(REMOVED, begun, 0, 0, name, NULL, 0);
    pthread_mutex_unlock(&turn);
    errno = keep;
    return done;
}

int mkdir(const char *path, mode_t mode) {
    char a[PATH_MAX];
    const char *name = within(path, a);
    int done = (int)syscall(SYS_mkdirat, AT_FDCWD, path, mode), keep = errno;
    if (name && done == 0) put(FOLDER_MADE, now(), 0, 0, name, NULL, 0);
    errno = keep;
    return done;
}

// Ways to write that this does not follow: the test fails on them rather than believing a log with holes.
static void unseen(int fd, const char *call) { if (ours(fd)) put(UNSEEN, now(), files[fd], 0, call, NULL, 0); }

ssize_t sendfile64(int to, int from, off64_t *place, size_t count) {
    unseen(to, "sendfile");
    return syscall(SYS_sendfile, to, from, place, count);
}
ssize_t copy_file_range(int from, off64_t *a, int to, off64_t *b, size_t count, unsigned flags) {
    unseen(to, "copy_file_range");
    return syscall(SYS_copy_file_range, from, a, to, b, count, flags);
}
int fallocate64(int fd, int mode, off64_t from, off64_t length) {
    unseen(fd, "fallocate");
    return (int)syscall(SYS_fallocate, fd, mode, from, length);
}
int link(const char *from, const char *to) {
    char a[PATH_MAX];
    if (within(to, a)) put(UNSEEN, now(), 0, 0, "link", NULL, 0);
    return (int)syscall(SYS_linkat, AT_FDCWD, from, AT_FDCWD, to, 0);
}
void *mmap64(void *at, size_t length, int protection, int flags, int fd, off64_t from) {
    if ((protection & PROT_WRITE) && (flags & MAP_SHARED)) unseen(fd, "mmap");
    return (void *)syscall(SYS_mmap, at, length, protection, flags, fd, from);
}
