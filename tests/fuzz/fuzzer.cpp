// One fuzzer: the target that LOOMPROOF_FUZZ_TARGET names, and a mutator that works on lines, since a change of bytes
// seldom leaves a file that the reader takes.
#include <cstddef>
#include <cstdint>
#include <cstring>
#include <random>
#include <string>
#include <vector>

#include "targets.h"

extern "C" std::size_t LLVMFuzzerMutate(std::uint8_t* data, std::size_t size, std::size_t most);

namespace {

using Lines = std::vector<std::string>;

Lines lines_of(const std::string& text) {
  Lines lines;
  for (std::size_t at = 0; at < text.size();) {
    const std::size_t end = std::min(text.find('\n', at), text.size());
    lines.push_back(text.substr(at, end - at));
    at = end + 1;
  }
  return lines;
}

struct Word {
  std::size_t at = 0;
  std::size_t size = 0;
};

std::vector<Word> words_of(const std::string& line) {
  constexpr std::string_view between = " {},:[]";
  std::vector<Word> words;
  for (std::size_t at = line.find_first_not_of(between); at != std::string::npos;) {
    const std::size_t end = std::min(line.find_first_of(between, at), line.size());
    words.push_back({at, end - at});
    at = line.find_first_not_of(between, end);
  }
  return words;
}

class Change {
 public:
  Change(Lines& lines, unsigned seed) : lines_(lines), dice_(seed) {}

  void make() {
    switch (dice_() % 7) {
      case 0:
        lines_.erase(lines_.begin() + static_cast<std::ptrdiff_t>(any()));
        return;
      case 1:
        lines_.insert(lines_.begin() + static_cast<std::ptrdiff_t>(any()), lines_[any()]);
        return;
      case 2:
        std::swap(lines_[any()], lines_[any()]);
        return;
      case 3:
        return number();
      case 4:
        return bytes();
      default:
        return word();
    }
  }

 private:
  std::size_t any() { return dice_() % lines_.size(); }

  // A word becomes one from elsewhere: another terminal, kind, key or value.
  void word() {
    std::string& line = lines_[any()];
    const std::string& other = lines_[any()];
    const std::vector<Word> here = words_of(line);
    const std::vector<Word> there = words_of(other);
    if (here.empty() || there.empty()) return;
    const Word from = there[dice_() % there.size()];
    const std::string text = other.substr(from.at, from.size);
    const Word to = here[dice_() % here.size()];
    line.replace(to.at, to.size, text);
  }

  void number() {
    constexpr const char* values[] = {"0", "1", "-1", "0.001", "1000000", "1e9", "2", "65", "0.5", "99999999999", "12"};
    std::string& line = lines_[any()];
    for (const Word& w : words_of(line)) {
      if (line[w.at] < '0' || line[w.at] > '9' || dice_() % 3 != 0) continue;
      line.replace(w.at, w.size, values[dice_() % std::size(values)]);
      return;
    }
  }

  void bytes() {
    std::string& line = lines_[any()];
    const std::size_t before = line.size();
    line.resize(before + 24);
    line.resize(LLVMFuzzerMutate(reinterpret_cast<std::uint8_t*>(line.data()), before, line.size()));
  }

  Lines& lines_;
  std::minstd_rand dice_;
};

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  loomproof::fuzz::LOOMPROOF_FUZZ_TARGET({reinterpret_cast<const char*>(data), size});
  return 0;
}

extern "C" std::size_t LLVMFuzzerCustomMutator(std::uint8_t* data, std::size_t size, std::size_t most, unsigned seed) {
  Lines lines = lines_of({reinterpret_cast<const char*>(data), size});
  if (seed % 3 == 0 || lines.size() < 3) return LLVMFuzzerMutate(data, size, most);
  Change change(lines, seed);
  for (unsigned i = 0; i <= seed / 3 % 3 && lines.size() > 1; ++i) change.make();
  std::string text;
  for (const std::string& line : lines) text += line + '\n';
  text.resize(std::min(text.size(), most));
  std::memcpy(data, text.data(), text.size());
  return text.size();
}
