// The thread tells that it is done through a descriptor, which the server's loop waits for beside its input.

#include "compiler/command/check_worker.h"

#include <sys/eventfd.h>
#include <unistd.h>

#include <cstdint>
#include <utility>

namespace cairn {

CheckWorker::CheckWorker(EditorHost& host)
    : host_(host), descriptor_(::eventfd(0, EFD_CLOEXEC | EFD_NONBLOCK)) {}

CheckWorker::~CheckWorker() {
  if (thread_.joinable()) thread_.join();
  if (descriptor_ >= 0) ::close(descriptor_);
}

void CheckWorker::start(std::shared_ptr<CheckJob> job) {
  job_ = std::move(job);
  if (descriptor_ < 0) return run(host_, *job_);
  thread_ = std::jthread([this] {
    run(host_, *job_);
    const std::uint64_t one = 1;
    static_cast<void>(::write(descriptor_, &one, sizeof one) == sizeof one);
  });
}

std::shared_ptr<CheckJob> CheckWorker::take() {
  if (job_ == nullptr) return nullptr;
  if (descriptor_ >= 0) {
    std::uint64_t count = 0;
    if (::read(descriptor_, &count, sizeof count) != sizeof count) return nullptr;
    thread_.join();
  }
  return std::exchange(job_, nullptr);
}

}  // namespace cairn
