// One choice tried: the file with its values filled in, solved and judged as `check` does it.
#pragma once

#include <functional>
#include <memory>
#include <optional>
#include <set>
#include <string>
#include <string_view>
#include <vector>

#include "rules/ledger.h"
#include "size/value.h"
#include "solve/solved.h"

namespace loomproof {

using ReadLoom = std::function<std::optional<Loom>(const std::string& text)>;

/// How far the built vehicle may be from its file. Shares of the value; kelvin for the air.
struct Tolerance {
  double length = 0;
  double pack_resistance = 0;
  double ambient_k = 0;

  bool none() const { return length == 0 && pack_resistance == 0 && ambient_k == 0; }
};

/// The loom at one corner of its tolerances.
struct Corner {
  std::string name;            // "as written", "all long and hot", "all short and hot"
  std::unique_ptr<Loom> loom;  // that `solved` refers to
  Solved solved;
  Judgement judgement;
};

struct Trial {
  std::vector<Corner> corners;  // the first is the file as written

  std::size_t broken() const;
};

/// What does not change from trial to trial.
struct Ground {
  std::string text;
  ReadLoom read;
  std::vector<Value> values;
  Tolerance tolerance;
  double margin = 0;               // share of every limit that is to be left over
  std::set<std::string> hopeless;  // keys of obligations that no size mends

  static std::string key(const Obligation&);

  std::string text_with(const Choice&) const;
};

/// @throws std::runtime_error when the text with the choice filled in does not read (a fault of the program)
Trial try_choice(const Ground&, const Choice&);

/// An obligation past its limit, or nearer to it than the margin allows; not waived and not hopeless.
bool misses(const Ground&, const Obligation&);

}  // namespace loomproof
