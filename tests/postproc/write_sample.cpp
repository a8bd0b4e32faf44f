// Writes the sample result, for readers that are not ours:
//   write_sample result.h5

#include <cstdio>
#include <exception>

#include "postproc/sample_result.hpp"

int main(int argc, char** argv)
{
  using namespace torsowave::postproc;
  if (argc != 2) {
    std::fputs("usage: write_sample FILE\n", stderr);
    return 2;
  }
  try {
    write_sample(argv[1], sample_result(), 3);
  } catch (const std::exception& error) {
    std::fprintf(stderr, "%s\n", error.what());
    return 1;
  }
  return 0;
}
