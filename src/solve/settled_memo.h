// What a network settled to, kept for the next time that it starts the same way.
#pragma once

#include <cstddef>
#include <cstdint>
#include <string>
#include <unordered_map>
#include <vector>

namespace loomproof {

/// Records of so many bytes and numbers, found by a key of bytes. Begins anew when it has grown too large.
class SettledMemo {
 public:
  void clear();
  /// The key that find() and keep() go by.
  std::string& key() { return key_; }
  /// Whether something was kept under the key; modes() and numbers() then give it, until the next keep() or clear().
  bool find();
  const std::uint8_t* modes() const { return modes_.data() + found_ * modes_each_; }
  const double* numbers() const { return numbers_.data() + found_ * numbers_each_; }
  /// Under the key that find() did not know. As many modes and numbers as the first time.
  void keep(const std::vector<std::uint8_t>& modes, const std::vector<double>& numbers);

 private:
  std::string key_;
  std::unordered_map<std::string, std::size_t> place_;
  std::vector<std::uint8_t> modes_;
  std::vector<double> numbers_;
  std::size_t modes_each_ = 0, numbers_each_ = 0;
  std::size_t found_ = 0;
};

}  // namespace loomproof
