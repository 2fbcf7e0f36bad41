// Put under a program with LD_PRELOAD: ends it, as a kill from outside does, at the n-th of its calls that
// change a file. A write is two such moments: nothing of it done, and half of it done.
//
// CAIRN_STOP_AT: which one, from 0; CAIRN_STOP_LOG: a file that gets the name of every such call, so that a
// test can see that nothing escapes the layer. Only the program of the name `cairn` is meant, not those that
// it starts.

#include <dlfcn.h>
#include <fcntl.h>
#include <sys/stat.h>
#include <sys/syscall.h>
#include <sys/uio.h>
#include <unistd.h>

#include <atomic>
#include <cerrno>
#include <csignal>
#include <cstdarg>
#include <cstdio>
#include <cstdlib>
#include <cstring>

namespace {

std::atomic<long> left{-1};
std::atomic<bool> on{false};
int log_file = -1;

// Before anything of the program runs.
__attribute__((constructor)) void begin() {
  if (std::strcmp(program_invocation_short_name, "cairn") != 0) return;
  const char* at = std::getenv("CAIRN_STOP_AT");
  if (at == nullptr) return;
  left = std::atol(at);
  if (const char* path = std::getenv("CAIRN_STOP_LOG"))
    log_file = static_cast<int>(
        ::syscall(SYS_openat, AT_FDCWD, path, O_WRONLY | O_CREAT | O_APPEND | O_CLOEXEC, 0644));
  on = true;
}

[[noreturn]] void stop() {
  ::syscall(SYS_kill, ::syscall(SYS_getpid), SIGKILL);
  for (;;) ::pause();
}

// Whether this is the moment.
bool is_moment(const char* name) {
  if (!on) return false;
  if (log_file >= 0) {
    ::syscall(SYS_write, log_file, name, std::strlen(name));
    ::syscall(SYS_write, log_file, "\n", 1UL);
  }
  return left-- == 0;
}

void pass(const char* name) {
  if (is_moment(name)) stop();
}

template <class Function>
Function* next(const char* name) {
  void* found = ::dlsym(RTLD_NEXT, name);
  if (found == nullptr) std::abort();
  Function* function = nullptr;
  std::memcpy(&function, &found, sizeof function);
  return function;
}

bool changes(int flags) { return (flags & (O_WRONLY | O_RDWR | O_CREAT | O_TRUNC)) != 0; }

bool is_file(int file) { return file > STDERR_FILENO; }

}  // namespace

#define NEXT(name) next<decltype(::name)>(#name)

extern "C" {

#define OPEN(name)                             \
  int name(const char* path, int flags, ...) { \
    va_list rest;                              \
    va_start(rest, flags);                     \
    const mode_t mode = va_arg(rest, mode_t);  \
    va_end(rest);                              \
    if (changes(flags)) pass(#name);           \
    return NEXT(name)(path, flags, mode);      \
  }
#define OPEN_AT(name)                                      \
  int name(int folder, const char* path, int flags, ...) { \
    va_list rest;                                          \
    va_start(rest, flags);                                 \
    const mode_t mode = va_arg(rest, mode_t);              \
    va_end(rest);                                          \
    if (changes(flags)) pass(#name);                       \
    return NEXT(name)(folder, path, flags, mode);          \
  }
OPEN(open)
OPEN(open64)
OPEN_AT(openat)
OPEN_AT(openat64)

int creat(const char* path, mode_t mode) {
  pass("creat");
  return NEXT(creat)(path, mode);
}

ssize_t write(int file, const void* data, size_t size) {
  if (!is_file(file)) return NEXT(write)(file, data, size);
  pass("write");
  if (is_moment("write, half")) {
    (void)NEXT(write)(file, data, size / 2);
    stop();
  }
  return NEXT(write)(file, data, size);
}
#define WRITE_AT(name, Offset)                                           \
  ssize_t name(int file, const void* data, size_t size, Offset offset) { \
    pass(#name);                                                         \
    if (is_moment(#name ", half")) {                                     \
      (void)NEXT(name)(file, data, size / 2, offset);                    \
      stop();                                                            \
    }                                                                    \
    return NEXT(name)(file, data, size, offset);                         \
  }
WRITE_AT(pwrite, off_t)
WRITE_AT(pwrite64, off64_t)
ssize_t writev(int file, const iovec* parts, int count) {
  if (is_file(file)) pass("writev");
  return NEXT(writev)(file, parts, count);
}

int ftruncate(int file, off_t size) noexcept {
  pass("ftruncate");
  return NEXT(ftruncate)(file, size);
}
int ftruncate64(int file, off64_t size) noexcept {
  pass("ftruncate64");
  return NEXT(ftruncate64)(file, size);
}
int fsync(int file) {
  pass("fsync");
  return NEXT(fsync)(file);
}
int fdatasync(int file) {
  pass("fdatasync");
  return NEXT(fdatasync)(file);
}

int rename(const char* from, const char* to) noexcept {
  pass("rename");
  return NEXT(rename)(from, to);
}
int renameat(int from_folder, const char* from, int to_folder, const char* to) noexcept {
  pass("renameat");
  return NEXT(renameat)(from_folder, from, to_folder, to);
}
int renameat2(int from_folder, const char* from, int to_folder, const char* to, unsigned flags) noexcept {
  pass("renameat2");
  return NEXT(renameat2)(from_folder, from, to_folder, to, flags);
}
int link(const char* from, const char* to) noexcept {
  pass("link");
  return NEXT(link)(from, to);
}
int linkat(int from_folder, const char* from, int to_folder, const char* to, int flags) noexcept {
  pass("linkat");
  return NEXT(linkat)(from_folder, from, to_folder, to, flags);
}
int symlink(const char* from, const char* to) noexcept {
  pass("symlink");
  return NEXT(symlink)(from, to);
}
int unlink(const char* path) noexcept {
  pass("unlink");
  return NEXT(unlink)(path);
}
int unlinkat(int folder, const char* path, int flags) noexcept {
  pass("unlinkat");
  return NEXT(unlinkat)(folder, path, flags);
}
int remove(const char* path) noexcept {
  pass("remove");
  return NEXT(remove)(path);
}
int rmdir(const char* path) noexcept {
  pass("rmdir");
  return NEXT(rmdir)(path);
}
int mkdir(const char* path, mode_t mode) noexcept {
  pass("mkdir");
  return NEXT(mkdir)(path, mode);
}
int mkdirat(int folder, const char* path, mode_t mode) noexcept {
  pass("mkdirat");
  return NEXT(mkdirat)(folder, path, mode);
}
char* mkdtemp(char* pattern) noexcept {
  pass("mkdtemp");
  return NEXT(mkdtemp)(pattern);
}
int mkstemp(char* pattern) {
  pass("mkstemp");
  return NEXT(mkstemp)(pattern);
}
int truncate(const char* path, off_t size) noexcept {
  pass("truncate");
  return NEXT(truncate)(path, size);
}
}
