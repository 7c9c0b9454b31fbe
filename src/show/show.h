// What a person or a machine reads: text, JSON, SARIF, DOT. No rule logic, no files.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "model/loom.h"
#include "read/read.h"
#include "rules/ledger.h"

namespace loomproof {

struct TextStyle {
  bool colour = false;      // ANSI; only on a terminal and without NO_COLOR
  std::size_t closest = 5;  // how many closest calls to list
};

/// The whole answer of `check` for one file: findings as a compiler prints them, closest calls, assumptions,
/// waivers, coverage, cautions, closing counts.
std::string text_of(const Loom&, const Judgement&, const TextStyle&);

/// The errors of a file that cannot be used, in the same shape; for stderr.
std::string text_of_faults(std::string_view file, const std::vector<ReadFault>&, const std::vector<std::string>& lines,
                           const TextStyle&);

/// One JSON document for any number of files, stable key order, every obligation with rule, subject, place, verdict,
/// figure, limit, situation, notes. Format described in docs/json.md.
struct FaultDictionary;  // solve/fault_dictionary.h

struct FileAnswer {
  std::string file;
  const Loom* loom = nullptr;            // null when it could not be read
  const Judgement* judgement = nullptr;  // null likewise
  const std::vector<ReadFault>* faults = nullptr;
  const FaultDictionary* dictionary = nullptr;  // what each single fault shows, when it was asked for
};
std::string json_of(const std::vector<FileAnswer>&);

/// OASIS SARIF 2.1.0.
std::string sarif_of(const std::vector<FileAnswer>&);

/// The page of a rule (docs/rules/<slug>.md, compiled in) laid out for a terminal; nullopt when there is none.
std::optional<std::string> page_of(std::string_view slug, bool colour);
std::vector<std::string_view> page_names();

}  // namespace loomproof
