// One loom of any file, solved and judged within bounds.
#pragma once

#include <memory>
#include <optional>
#include <string_view>

#include "read/read.h"
#include "rules/ledger.h"
#include "solve/solved.h"

namespace loomproof::fuzz {

struct Bounded {
  ReadResult read;
  std::optional<Solved> solved;
  std::optional<Judgement> judgement;
};

/// Whether a fuzzed loom is small enough to solve: what is larger would spend the time on few inputs.
bool is_small(const Loom&);

/// @return null when the bytes are no loom, or one that is too large, or when its time was over; the text of a fault
/// that solving tells by an exception is none either, since `check` tells it
std::unique_ptr<Bounded> judged_within(std::string_view bytes);

}  // namespace loomproof::fuzz
