// Wording of the commonest faults, in one place so that they read like one voice.
#include "read/expect.h"

#include <fmt/core.h>

#include <algorithm>

#include "units/quote.h"

namespace loomproof {
namespace {

// Lists of names are searched from end to end; no switch or bundle run comes near to this.
constexpr std::size_t most_texts = 100;

}  // namespace

std::optional<std::string_view> expect_text(View node, std::string_view expected, Faults& faults) {
  if (node.is_text()) return node.text();
  faults.add(node.at(), fmt::format("expected {}, found {}", expected, node.shape_name()));
  return std::nullopt;
}

std::optional<bool> expect_flag(View node, Faults& faults) {
  const auto text = expect_text(node, "true or false", faults);
  if (!text) return std::nullopt;
  if (*text == "true") return true;
  if (*text == "false") return false;
  faults.add(node.at(), fmt::format("expected true or false, found {}", quoted(*text)));
  return std::nullopt;
}

bool expect_map(View node, std::string_view expected, Faults& faults, bool or_empty) {
  if (node.is_map() || (or_empty && node.is_empty())) return true;
  faults.add(node.at(), fmt::format("expected {}, found {}", expected, node.shape_name()));
  return false;
}

std::vector<View> expect_texts(View node, std::string_view expected, Faults& faults) {
  std::vector<View> out;
  if (node.is_text()) {
    out.push_back(node);
    return out;
  }
  if (!node.is_list()) {
    faults.add(node.at(), fmt::format("expected {}, found {}", expected, node.shape_name()));
    return out;
  }
  for (const View item : node.items()) {
    if (out.size() == most_texts) {
      faults.add(item.at(), fmt::format("a list of more than {} names", most_texts));
      break;
    }
    if (item.is_text()) {
      out.push_back(item);
    } else {
      faults.add(item.at(), fmt::format("expected {}, found {} inside the list", expected, item.shape_name()));
    }
  }
  return out;
}

std::optional<std::size_t> expect_word(View node, std::string_view what, const std::vector<std::string_view>& words,
                                       Faults& faults) {
  const auto text = expect_text(node, what, faults);
  if (!text) return std::nullopt;
  const auto found = std::find(words.begin(), words.end(), *text);
  if (found != words.end()) return static_cast<std::size_t>(found - words.begin());
  std::string hint = faults.near(*text, words);
  if (hint.empty()) hint = fmt::format("write {}{}", words.size() > 1 ? "one of " : "", listed(words));
  faults.add(node.at(), fmt::format("{} is not {}", quoted(*text), what), std::move(hint));
  return std::nullopt;
}

void unknown_key(View key, std::string_view where, const std::vector<std::string_view>& known, Faults& faults) {
  std::string hint = faults.near(key.text(), known);
  if (key.text() == "<<") hint = "keys are not merged from elsewhere: write them out";
  if (hint.empty() && !known.empty()) hint = fmt::format("known here: {}", listed(known));
  faults.add(key.at(), fmt::format("key {} is not known in {}", quoted(key.text()), where), std::move(hint));
}

bool check_name(View key, std::string_view what, Faults& faults) {
  constexpr std::size_t longest = 80;
  const std::string_view name = key.text();
  const auto bad = [&](std::string_view why, std::string hint) {
    faults.add(key.at(), fmt::format("name {} of {} {}", quoted(name), what, why), std::move(hint));
    return false;
  };
  if (name.empty()) return bad("is empty", "give it a short name");
  if (name.size() > longest) return bad("is too long", fmt::format("at most {} bytes", longest));
  if (std::any_of(name.begin(), name.end(), [](char c) { return static_cast<unsigned char>(c) < 0x20; })) {
    return bad("holds a line break or a tab", "write it on one line");
  }
  if (key.in_quotes()) return true;
  const auto is_letter = [](char c) {
    return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9') ||
           static_cast<unsigned char>(c) >= 0x80;
  };
  if (!is_letter(name[0])) return bad("does not start with a letter or a digit", "put it in quotes if it is meant");
  if (!std::all_of(name.begin(), name.end(),
                   [&](char c) { return is_letter(c) || c == '_' || c == '-' || c == '.'; })) {
    return bad("has more than letters, digits, '_' and '-'", "put it in quotes if it is meant");
  }
  return true;
}

}  // namespace loomproof
