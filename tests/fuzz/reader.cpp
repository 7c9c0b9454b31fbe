// Any bytes to the reader.
#include <string>

#include "read/read.h"
#include "targets.h"

namespace loomproof::fuzz {
namespace {

void check_faults(const std::vector<ReadFault>& faults, std::size_t lines) {
  const ReadFault* before = nullptr;
  for (const ReadFault& fault : faults) {
    promise(!fault.what.empty() && is_harmless(fault.what), "a fault is one harmless line", fault.what);
    promise(is_harmless(fault.hint), "a hint is one harmless line", fault.hint);
    promise(fault.at.line >= 0 && static_cast<std::size_t>(fault.at.line) <= lines + 1, "a fault lies inside the text",
            fault.what);
    promise(!before || before->at.line <= fault.at.line || fault.at.line == 0, "faults stand in the order of the text",
            fault.what);
    before = &fault;
  }
}

}  // namespace

void reader(std::string_view bytes) {
  const ReadResult once = read_loom(bytes, "fuzzed.yaml");
  promise(once.loom.has_value() == once.faults.empty(), "either a loom or faults");
  check_faults(once.faults, once.lines.size());
  const ReadResult again = read_loom(bytes, "fuzzed.yaml");
  promise(again.faults.size() == once.faults.size(), "the same text gives the same faults");
  for (std::size_t i = 0; i < once.faults.size(); ++i)
    promise(again.faults[i].what == once.faults[i].what, "the same text gives the same faults", once.faults[i].what);
  const ReadBounds tight{.bytes = 2000, .depth = 4, .nodes = 60, .faults = 3};
  promise(read_loom(bytes, "fuzzed.yaml", tight).faults.size() <= tight.faults + 1, "no more faults than asked for");
  const KindResult kind = read_kind(bytes);
  promise(kind.kind.has_value() == kind.faults.empty(), "either a kind or faults");
}

}  // namespace loomproof::fuzz
