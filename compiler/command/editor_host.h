// The world behind the language server, and the checks that it asks for.
//
// Keeps the checks of the load that was checked last: while its commands stay the same, so do the verdicts.

#pragma once

#include <memory>

#include "compiler/command/pipeline.h"
#include "compiler/editor/host.h"

namespace cairn {

class WorldHost : public EditorHost {
 public:
  explicit WorldHost(const World& world) : world_(world), leap_seconds_(published_leap_seconds()) {}

  std::expected<std::string, std::string> read(const std::string& path) override;
  std::string whole(const std::string& path) override;
  std::string project_folder(const std::string& load) override;
  std::expected<std::string, std::string> inside(const std::string& folder, const std::string& path) override;
  std::string relative(const std::string& folder, const std::string& path) override;
  bool exists(const std::string& path) override;
  std::vector<std::string> files_below(const std::string& folder, const std::string& ending) override;
  const LeapSecondTable& leap_seconds() override { return leap_seconds_; }
  CheckedLoad check(const std::shared_ptr<const LoadedStation>& station, SequencedLoad& load,
                    const SourceFiles& files, Diagnostics& diagnostics) override;

 private:
  [[nodiscard]] bool is_known(const std::shared_ptr<const LoadedStation>& station,
                              const SequencedLoad& load) const;
  void make(const std::shared_ptr<const LoadedStation>& station, const SequencedLoad& load,
            const PlanEndState& before, Diagnostics& diagnostics);

  const World& world_;
  LeapSecondTable leap_seconds_;
  std::shared_ptr<const LoadedStation> station_;
  std::unique_ptr<Sky> sky_;
  Surroundings surroundings_;
  Compiled last_;
};

}  // namespace cairn
