/* A harness without a fuzzer: every file named is one input. */
#include "fuzz.h"

static int
replay(const char *path)
{
    FILE *f = fopen(path, "rb");
    uint8_t *data = malloc(1 << 20);
    if (!f || !data) {
        perror(path);
        return 1;
    }
    size_t n = fread(data, 1, 1 << 20, f);
    fclose(f);
    uint8_t *exact = malloc(n ? n : 1); // so that a byte too far is seen
    if (!exact)
        return 1;
    for (size_t i = 0; i < n; i++)
        exact[i] = data[i];
    LLVMFuzzerTestOneInput(exact, n);
    free(exact);
    free(data);
    return 0;
}

int
main(int argc, char **argv)
{
    int bad = 0;
    for (int i = 1; i < argc; i++)
        bad |= replay(argv[i]);
    printf("%d inputs\n", argc - 1);
    return bad;
}
