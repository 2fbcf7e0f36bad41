// The world as one small interface: files, terminal, standard streams. Everything else is values.

#pragma once

#include <cstdint>
#include <expected>
#include <string>
#include <string_view>

#include "compiler/command/put_in_place.h"

namespace cairn {

// Exit codes; stable, documented in docs/command-line.md.
enum class ExitCode : int {
  Holds = 0,       // all holds
  CheckStops = 1,  // a check stops the plan
  WrongInput = 2,  // the input is wrong
  ToolFault = 3,   // a fault of the tool
};

class World {
 public:
  // The error is one sentence without the path. "-" is standard input. Files above 256 MiB are refused.
  [[nodiscard]] std::expected<std::string, std::string> read(const std::string& path) const;

  // Writes a folder of files (paths inside it, '/' between parts) so that it appears whole or not at all:
  // into a new folder beside it, which then takes its place. A folder that is there is replaced only when it
  // is empty or holds a plan ("plan.json").
  enum class WriteError : std::uint8_t { Unwritable, Occupied };
  struct WriteProblem {
    WriteError error = WriteError::Unwritable;
    std::string sentence;
  };
  using Files = PutInPlace::Files;
  [[nodiscard]] std::expected<void, WriteProblem> write_folder(const std::string& folder,
                                                               const Files& files) const;
  // The first half of that: the folder is made, and takes its place when `put` is called.
  [[nodiscard]] std::expected<PutInPlace, WriteProblem> prepare_folder(const std::string& folder,
                                                                       const Files& files) const;
  // One file, whole or not at all. It is made in the folder `beside`; left empty: in its own.
  [[nodiscard]] std::expected<void, WriteProblem> write_file(const std::string& path, std::string_view text,
                                                             const std::string& beside = "") const;

  // What has come in on standard input since, at most 64 KiB; waits for it; empty at its end.
  [[nodiscard]] std::string read_input() const;
  [[nodiscard]] bool input_waits() const;
  // Waits until input has come, or ended, or `other` can be read; true for input.
  [[nodiscard]] bool wait_for_input(int other) const;
  // From here on a reader of standard output that goes away does not end the program; `finish_output` tells.
  void outlive_reader() const;

  void print(std::string_view text) const;        // standard output
  void print_error(std::string_view text) const;  // standard error
  // Whether all that was printed has really gone out.
  [[nodiscard]] bool finish_output() const;

  [[nodiscard]] bool colour_for_output() const;  // standard output is a terminal and NO_COLOR is not set
  [[nodiscard]] bool colour_for_errors() const;
  [[nodiscard]] int width() const;
};

}  // namespace cairn
