/* Debian's wine 8 lacks the library from which Go takes its random numbers. This one has the one function that is asked for. */
typedef unsigned char byte;
byte __stdcall SystemFunction036(void *to, unsigned long size); /* RtlGenRandom of advapi32 */
__declspec(dllexport) int __stdcall ProcessPrng(byte *to, unsigned long long size) { return SystemFunction036(to, (unsigned long)size); }
