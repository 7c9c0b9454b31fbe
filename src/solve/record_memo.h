// Records found by a key of bytes.
#pragma once

#include <cstddef>
#include <cstdint>
#include <cstring>
#include <memory>
#include <vector>

namespace loomproof {

/// For records that are looked up a hundred thousand times: keys and records lie side by side in a pool that is never
/// larger than was asked for and begins anew when it is full. All keys of a memo are as long as the first, and so are
/// all records.
class RecordMemo {
 public:
  explicit RecordMemo(std::size_t most_bytes) : most_bytes_(most_bytes) {}

  void clear();
  /// Another memo, of keys and records as long as these, is looked into as well, and must not change meanwhile.
  void add_base(const RecordMemo& base) { base_ = &base; }

  /// Begins a key; what it consists of is added piece by piece.
  void begin_key() { written_ = 0; }
  void add(std::uint8_t byte) { *room_for(1) = byte; }
  template <class Byte>
  void add(const std::vector<Byte>& bytes) {
    static_assert(sizeof(Byte) == 1);
    if (!bytes.empty()) std::memcpy(room_for(bytes.size()), bytes.data(), bytes.size());
  }

  /// The record of the key, nullptr when there is none; good until the next keep().
  const std::uint64_t* find();
  /// Room for a record of so many words of eight bytes under the key that find() did not know.
  std::uint64_t* keep(std::size_t words);

 private:
  std::uint8_t* room_for(std::size_t bytes) {
    const std::size_t at = written_;
    written_ += bytes;
    if (key_.size() < written_) key_.resize(written_);
    return key_.data() + at;
  }
  const std::uint64_t* look_up(const std::vector<std::uint8_t>& key, std::uint32_t hash) const;
  void grow();
  std::uint64_t* record(std::size_t number) const {
    return pool_[number / piece_records].get() + number % piece_records * record_words_;
  }
  std::size_t free_place(std::uint32_t hash) const;

  static constexpr std::size_t piece_records = 64;

  struct Place {
    std::uint32_t hash = 0;
    std::uint32_t record = 0;  // 1 + its number; 0: free
  };
  std::size_t most_bytes_ = 0;
  const RecordMemo* base_ = nullptr;
  std::vector<std::uint8_t> key_;
  std::size_t written_ = 0;  // of the key
  std::uint32_t hash_ = 0;
  std::size_t key_words_ = 0, record_words_ = 0;  // the second with the key
  std::size_t records_ = 0;
  std::vector<std::unique_ptr<std::uint64_t[]>> pool_;  // by pieces: what is there stays where it is
  std::vector<Place> places_;                           // a power of two of them, half of them free at least
};

}  // namespace loomproof
