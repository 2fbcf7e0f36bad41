#include "compiler/syntax/parse.h"

#include <cstdint>
#include <limits>

#include "compiler/syntax/driver.h"
#include "compiler/syntax/prelude.h"
#include "compiler/syntax/utf8.h"
#include "compiler/text/catalogue.h"

namespace cairn {

Tree parse(const SourceFiles& files, FileId file, const ParseLimits& limits, Diagnostics& diagnostics) {
  Tree tree;
  tree.file = file;
  const std::string_view text = files.text(file);
  constexpr std::size_t addressable = std::numeric_limits<std::uint32_t>::max() - 1;
  const std::size_t most = limits.file_bytes < addressable ? limits.file_bytes : addressable;
  if (text.size() > most) {
    diagnostics.report(diagnostics::FileTooLarge, Span{file, 0, 0}, text.size(), most)
        .hint("split the file and bring the parts in with `use`");
    return tree;
  }
  if (const auto bad = first_bad_byte(text)) {
    report_encoding(text, {file, static_cast<std::uint32_t>(*bad), static_cast<std::uint32_t>(*bad) + 1},
                    diagnostics);
    return tree;
  }
  const std::size_t offset = text.starts_with("\xEF\xBB\xBF") ? 3 : 0;
  reserve_tables(text, offset, tree);
  Driver(text, offset, limits, tree, diagnostics).run();
  return tree;
}

}  // namespace cairn
