/* Preloaded into the program: one of its file operations fails, is cut short or kills it.
 *
 * Counted are operations that change something below TORSOWAVE_FAULT_FOLDER, over all processes
 * that share the file TORSOWAVE_FAULT_COUNTER (8 bytes, mapped). The one with the number
 * TORSOWAVE_FAULT_AT meets TORSOWAVE_FAULT_KIND:
 *   ENOSPC  it and all later ones that need room fail: the disk stays full
 *   EIO     it alone fails
 *   short   a write takes half of its bytes (at least one), and the next fails with ENOSPC
 *   kill    the process is killed before it
 * With TORSOWAVE_FAULT_LOG each operation is written there as a line "number name path". */

#define _GNU_SOURCE
#include <dlfcn.h>
#include <errno.h>
#include <fcntl.h>
#include <limits.h>
#include <signal.h>
#include <stdarg.h>
#include <stdatomic.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/mman.h>
#include <sys/stat.h>
#include <sys/syscall.h>
#include <sys/uio.h>
#include <unistd.h>

enum verdict { go_on, fail, half };

static _Atomic long *counter(void)
{
  static _Atomic long *mapped = NULL;
  const char *name = getenv("TORSOWAVE_FAULT_COUNTER");
  if (mapped == NULL && name != NULL) {
    const int file = (int)syscall(SYS_openat, AT_FDCWD, name, O_RDWR | O_CLOEXEC, 0);
    if (file >= 0) {
      void *memory = mmap(NULL, sizeof(long), PROT_READ | PROT_WRITE, MAP_SHARED, file, 0);
      mapped = memory == MAP_FAILED ? NULL : memory;
      syscall(SYS_close, file);
    }
  }
  return mapped;
}

static int is_ours(const char *path)
{
  const char *folder = getenv("TORSOWAVE_FAULT_FOLDER");
  return folder != NULL && strncmp(path, folder, strlen(folder)) == 0;
}

static void note(long number, const char *name, const char *path)
{
  const char *log = getenv("TORSOWAVE_FAULT_LOG");
  if (log != NULL) {
    char line[PATH_MAX + 64];
    const int size = snprintf(line, sizeof line, "%ld %s %s\n", number, name, path);
    const int file =
        (int)syscall(SYS_openat, AT_FDCWD, log, O_WRONLY | O_APPEND | O_CREAT | O_CLOEXEC, 0666);
    syscall(SYS_write, file, line, (size_t)size);
    syscall(SYS_close, file);
  }
}

/* What becomes of an operation; errno is set if it fails. */
static enum verdict judge(const char *name, const char *path, int needs_room)
{
  const char *at_text = getenv("TORSOWAVE_FAULT_AT");
  const char *kind = getenv("TORSOWAVE_FAULT_KIND");
  _Atomic long *count = counter();
  if (count == NULL || !is_ours(path)) {
    return go_on;
  }
  const long number = atomic_fetch_add(count, 1) + 1;
  const long at = at_text == NULL ? 0 : atol(at_text);
  note(number, name, path);
  if (at == 0 || kind == NULL || number < at) {
    return go_on;
  }
  if (number == at && strcmp(kind, "kill") == 0) {
    syscall(SYS_kill, getpid(), SIGKILL);
  }
  if (number == at && strcmp(kind, "EIO") == 0) {
    errno = EIO;
    return fail;
  }
  if (needs_room && strcmp(kind, "short") == 0) {
    errno = ENOSPC;
    return number == at ? half : fail;
  }
  if (needs_room && strcmp(kind, "ENOSPC") == 0) {
    errno = ENOSPC;
    return fail;
  }
  return go_on;
}

static enum verdict judge_file(const char *name, int file, int needs_room)
{
  char link[64];
  char path[PATH_MAX];
  snprintf(link, sizeof link, "/proc/self/fd/%d", file);
  const ssize_t size = readlink(link, path, sizeof path - 1);
  if (size < 0) {
    return go_on;
  }
  path[size] = '\0';
  return judge(name, path, needs_room);
}

#define REAL(result, name, ...)                                   \
  static result (*real)(__VA_ARGS__) = NULL;                      \
  if (real == NULL) {                                             \
    *(void **)&real = dlsym(RTLD_NEXT, #name);                    \
  }

#define CUT(size) ((size) > 1 ? (size) / 2 : (size))

static int opens_to_write(int flags)
{
  return (flags & (O_CREAT | O_WRONLY | O_RDWR)) != 0;
}

#define OPEN(name)                                                          \
  int name(const char *path, int flags, ...)                                \
  {                                                                         \
    REAL(int, name, const char *, int, ...)                                 \
    va_list arguments;                                                      \
    va_start(arguments, flags);                                             \
    const mode_t mode = (mode_t)va_arg(arguments, int);                     \
    va_end(arguments);                                                      \
    if (opens_to_write(flags) &&                                            \
        judge("open", path, (flags & O_CREAT) != 0) == fail) {              \
      return -1;                                                            \
    }                                                                       \
    return real(path, flags, mode);                                         \
  }
OPEN(open)
OPEN(open64)

#define FOPEN(name)                                                         \
  FILE *name(const char *path, const char *mode)                            \
  {                                                                         \
    REAL(FILE *, name, const char *, const char *)                          \
    if (strpbrk(mode, "wa+") != NULL && judge("fopen", path, 1) == fail) {  \
      return NULL;                                                          \
    }                                                                       \
    return real(path, mode);                                                \
  }
FOPEN(fopen)
FOPEN(fopen64)

ssize_t write(int file, const void *bytes, size_t size)
{
  REAL(ssize_t, write, int, const void *, size_t)
  const enum verdict verdict = judge_file("write", file, 1);
  return verdict == fail ? -1 : real(file, bytes, verdict == half ? CUT(size) : size);
}

ssize_t writev(int file, const struct iovec *parts, int count)
{
  REAL(ssize_t, writev, int, const struct iovec *, int)
  return judge_file("writev", file, 1) == fail ? -1 : real(file, parts, count);
}

#define PWRITE(name, offset_type)                                                       \
  ssize_t name(int file, const void *bytes, size_t size, offset_type offset)            \
  {                                                                                     \
    REAL(ssize_t, name, int, const void *, size_t, offset_type)                         \
    const enum verdict verdict = judge_file("pwrite", file, 1);                         \
    return verdict == fail ? -1 : real(file, bytes, verdict == half ? CUT(size) : size, \
                                       offset);                                         \
  }
PWRITE(pwrite, off_t)
PWRITE(pwrite64, off64_t)

size_t fwrite(const void *bytes, size_t each, size_t count, FILE *stream)
{
  REAL(size_t, fwrite, const void *, size_t, size_t, FILE *)
  const enum verdict verdict = judge_file("fwrite", fileno(stream), 1);
  return verdict == fail ? 0 : real(bytes, each, verdict == half ? count / 2 : count, stream);
}

int fclose(FILE *stream)
{
  REAL(int, fclose, FILE *)
  const int writes = (fcntl(fileno(stream), F_GETFL) & O_ACCMODE) != O_RDONLY;
  const enum verdict verdict = writes ? judge_file("fclose", fileno(stream), 1) : go_on;
  const int error = errno;
  const int result = real(stream);
  errno = error;
  return verdict == fail ? EOF : result;
}

int close(int file)
{
  REAL(int, close, int)
  const int flags = fcntl(file, F_GETFL);
  const int writes = flags >= 0 && (flags & O_ACCMODE) != O_RDONLY;
  const enum verdict verdict = writes ? judge_file("close", file, 0) : go_on;
  const int error = errno;
  const int result = real(file);
  errno = verdict == fail ? error : errno;
  return verdict == fail ? -1 : result;
}

int fsync(int file)
{
  REAL(int, fsync, int)
  return judge_file("fsync", file, 1) == fail ? -1 : real(file);
}

#define FTRUNCATE(name, size_type)                                \
  int name(int file, size_type size)                              \
  {                                                               \
    REAL(int, name, int, size_type)                               \
    return judge_file("ftruncate", file, 1) == fail ? -1 : real(file, size); \
  }
FTRUNCATE(ftruncate, off_t)
FTRUNCATE(ftruncate64, off64_t)

int rename(const char *from, const char *to)
{
  REAL(int, rename, const char *, const char *)
  return judge("rename", to, 0) == fail ? -1 : real(from, to);
}

int mkdir(const char *path, mode_t mode)
{
  REAL(int, mkdir, const char *, mode_t)
  return judge("mkdir", path, 1) == fail ? -1 : real(path, mode);
}

int unlink(const char *path)
{
  REAL(int, unlink, const char *)
  return judge("unlink", path, 0) == fail ? -1 : real(path);
}

int remove(const char *path)
{
  REAL(int, remove, const char *)
  return judge("remove", path, 0) == fail ? -1 : real(path);
}

int unlinkat(int folder, const char *path, int flags)
{
  REAL(int, unlinkat, int, const char *, int)
  return judge_file("unlinkat", folder, 0) == fail ? -1 : real(folder, path, flags);
}
