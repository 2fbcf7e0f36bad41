// Checks on a thread of their own, so that an editor is answered while they run.
//
// One job at a time. A job that nobody waits for any more still runs to its end.

#pragma once

#include <memory>
#include <thread>

#include "compiler/editor/analysis.h"

namespace cairn {

class CheckWorker {
 public:
  explicit CheckWorker(EditorHost& host);
  CheckWorker(const CheckWorker&) = delete;
  CheckWorker& operator=(const CheckWorker&) = delete;
  ~CheckWorker();

  // Only when none is under way.
  void start(std::shared_ptr<CheckJob> job);
  // The job that is done; null while there is none.
  std::shared_ptr<CheckJob> take();
  // Can be read when a job is done; negative when the system has none left, jobs are then done by `start`.
  [[nodiscard]] int descriptor() const { return descriptor_; }

 private:
  EditorHost& host_;
  int descriptor_;
  std::shared_ptr<CheckJob> job_;
  std::jthread thread_;
};

}  // namespace cairn
