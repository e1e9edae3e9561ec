#include "textflag.h"
#include "go_asm.h"

// The loops of kernel.go four numbers at a time. A lane does what a line of Go
// does, in the same order, and each multiplication and addition is rounded by
// itself, so that the bytes are the same: no fused instructions here. They are
// most of what a simulated second costs, and the compiler uses one lane only.
//
// Rows of nine are done as 0 to 3, 4 to 7 and 5 to 8, those of eleven as 7 to 10
// too: what is done twice comes out the same twice. Columns are 88 bytes apart.

DATA one<>+0(SB)/8, $1.0
DATA root<>+0(SB)/8, $1.4142135623730951
DATA wide<>+0(SB)/8, $2.414213562373095
DATA sign<>+0(SB)/8, $0x8000000000000000
GLOBL one<>(SB), RODATA|NOPTR, $8
GLOBL root<>(SB), RODATA|NOPTR, $8
GLOBL wide<>(SB), RODATA|NOPTR, $8
GLOBL sign<>(SB), RODATA|NOPTR, $8

// SUM is (((0 + a) + (b + c)) + ((4 + 5) + (6 + 7))) + (8 + held) of four rows.
#define SUM(row, a, Ya, b, Yb, c, Yc) \
	VMULPD (8*row)(AX), Y0, Y9 \
	VMULPD (88*a+8*row)(AX), Ya, Y10 \
	VADDPD Y10, Y9, Y9 \
	VMULPD (88*b+8*row)(AX), Yb, Y10 \
	VMULPD (88*c+8*row)(AX), Yc, Y11 \
	VADDPD Y11, Y10, Y10 \
	VADDPD Y10, Y9, Y9 \
	VMULPD (88*4+8*row)(AX), Y4, Y10 \
	VMULPD (88*5+8*row)(AX), Y5, Y11 \
	VADDPD Y11, Y10, Y10 \
	VMULPD (88*6+8*row)(AX), Y6, Y11 \
	VMULPD (88*7+8*row)(AX), Y7, Y12 \
	VADDPD Y12, Y11, Y11 \
	VADDPD Y11, Y10, Y10 \
	VADDPD Y10, Y9, Y9 \
	VMULPD (88*8+8*row)(AX), Y8, Y10 \
	VADDPD (8*row)(BX), Y10, Y10 \
	VADDPD Y10, Y9, Y9

// func advanceAVX(at *[nodes]effect, held *effect, t, next *state) (lost, vapour float64)
TEXT ·advanceAVX(SB), NOSPLIT, $0-48
	MOVQ at+0(FP), AX
	MOVQ held+8(FP), BX
	MOVQ t+16(FP), CX
	MOVQ next+24(FP), DX
	VBROADCASTSD 0(CX), Y0; VBROADCASTSD 8(CX), Y1; VBROADCASTSD 16(CX), Y2
	VBROADCASTSD 24(CX), Y3; VBROADCASTSD 32(CX), Y4; VBROADCASTSD 40(CX), Y5
	VBROADCASTSD 48(CX), Y6; VBROADCASTSD 56(CX), Y7; VBROADCASTSD 64(CX), Y8
	SUM(0, 1, Y1, 2, Y2, 3, Y3)
	VMOVUPD Y9, 0(DX)
	SUM(4, 1, Y1, 2, Y2, 3, Y3)
	VMOVUPD Y9, 32(DX)
	SUM(5, 1, Y1, 2, Y2, 3, Y3)
	VMOVUPD Y9, 40(DX)
	SUM(7, 3, Y3, 1, Y1, 2, Y2)
	VEXTRACTF128 $1, Y9, X9
	VMOVUPD X9, lost+32(FP)
	VZEROUPPER
	RET

// HELD is fixed + pad + room + sun of four rows.
#define HELD(row) \
	VMULPD (collapsed_in+inputs_pad+8*row)(AX), Y0, Y3 \
	VADDPD (collapsed_in+inputs_fixed+8*row)(AX), Y3, Y3 \
	VMULPD (collapsed_in+inputs_room+8*row)(AX), Y1, Y4 \
	VADDPD Y4, Y3, Y3 \
	VMULPD (collapsed_in+inputs_sun+8*row)(AX), Y2, Y4 \
	VADDPD Y4, Y3, Y3 \
	VMOVUPD Y3, (collapsed_held+8*row)(AX)

// func holdAVX(c *collapsed)
TEXT ·holdAVX(SB), NOSPLIT, $0-8
	MOVQ c+0(FP), AX
	VBROADCASTSD collapsed_pad(AX), Y0
	VBROADCASTSD collapsed_room(AX), Y1
	VBROADCASTSD collapsed_sun(AX), Y2
	HELD(0)
	HELD(4)
	HELD(7)
	VZEROUPPER
	RET

// WIDE writes column k of (1+√2)X.
#define WIDE(k) \
	VMULPD (shares_x+88*k)(BX), Y13, Y0 \
	VMULPD (shares_x+88*k+32)(BX), Y13, Y1 \
	VMULPD (shares_x+88*k+40)(BX), Y13, Y2 \
	VMOVUPD Y0, (88*k)(DX) \
	VMOVUPD Y1, (88*k+32)(DX) \
	VMOVUPD Y2, (88*k+40)(DX)

// TERM adds place k of the column at SI times column k of (1+√2)X.
#define TERM(k) \
	VBROADCASTSD (8*k)(SI), Y9 \
	VMULPD (88*k)(DX), Y9, Y10 \
	VADDPD Y10, Y0, Y0 \
	VMULPD (88*k+32)(DX), Y9, Y10 \
	VADDPD Y10, Y1, Y1 \
	VMULPD (88*k+40)(DX), Y9, Y10 \
	VADDPD Y10, Y2, Y2

// STAGE makes of four sums what a step does and what an input does.
#define STAGE(row, Ysum, Yfixed, Yroom) \
	VMOVUPD (8*row)(SI), Y10 \
	VADDPD Y10, Ysum, Y11 \
	VMULPD Y11, Y12, Y11 \
	VMOVUPD Y11, (8*row)(R8) \
	VMULPD Y11, Y14, Y15 \
	VADDPD Y15, Yfixed, Yfixed \
	VMULPD Y11, Y9, Y11 \
	VADDPD Y11, Yroom, Yroom \
	VMULPD Y10, Y13, Y10 \
	VSUBPD Y10, Ysum, Ysum \
	VMOVUPD Ysum, (8*row)(DI)

// func stagesAVX(c *collapsed, by *shares, in *columns, alpha float64)
TEXT ·stagesAVX(SB), NOSPLIT, $0-32
	MOVQ c+0(FP), AX
	MOVQ by+8(FP), BX
	MOVQ in+16(FP), CX
	LEAQ shares_wide(BX), DX
	LEAQ shares_e(BX), R8
	LEAQ collapsed_at(AX), DI
	VBROADCASTSD wide<>(SB), Y13
	WIDE(0); WIDE(1); WIDE(2); WIDE(3); WIDE(4); WIDE(5); WIDE(6); WIDE(7); WIDE(8)
	VBROADCASTSD root<>(SB), Y13
	VBROADCASTSD alpha+24(FP), Y12
	VXORPD Y3, Y3, Y3; VXORPD Y4, Y4, Y4; VXORPD Y5, Y5, Y5
	VXORPD Y6, Y6, Y6; VXORPD Y7, Y7, Y7; VXORPD Y8, Y8, Y8
	LEAQ shares_x(BX), SI
	LEAQ (88*9)(SI), BX
column:
	VXORPD Y0, Y0, Y0; VXORPD Y1, Y1, Y1; VXORPD Y2, Y2, Y2
	TERM(0); TERM(1); TERM(2); TERM(3); TERM(4); TERM(5); TERM(6); TERM(7); TERM(8)
	VBROADCASTSD columns_fixed(CX), Y14
	VBROADCASTSD columns_room(CX), Y9
	STAGE(0, Y0, Y3, Y6)
	STAGE(4, Y1, Y4, Y7)
	STAGE(5, Y2, Y5, Y8)
	ADDQ $8, CX
	ADDQ $88, DI
	ADDQ $88, R8
	ADDQ $88, SI
	CMPQ SI, BX
	JNE column
	LEAQ (collapsed_in+inputs_fixed)(AX), DI
	LEAQ (collapsed_in+inputs_room)(AX), SI
	VMOVUPD Y3, 0(DI); VMOVUPD Y4, 32(DI); VMOVUPD Y5, 40(DI)
	VMOVUPD Y6, 0(SI); VMOVUPD Y7, 32(SI); VMOVUPD Y8, 40(SI)
	VZEROUPPER
	RET

// func invertAVX(a *[nodes]state)
TEXT ·invertAVX(SB), NOSPLIT, $0-8
	MOVQ a+0(FP), DX // the pivot's row
	LEAQ (72*9)(DX), DI
	XORQ CX, CX // its place, in bytes
	VBROADCASTSD sign<>(SB), Y5
	VXORPD Y7, Y7, Y7
pivot:
	VMOVSD one<>(SB), X0
	VDIVSD (DX)(CX*1), X0, X0
	VMOVDDUP X0, X1
	VINSERTF128 $1, X1, Y1, Y1
	VMULPD 40(DX), Y1, Y3
	VMULPD 32(DX), Y1, Y2
	VMULPD 0(DX), Y1, Y1
	VMOVUPD Y1, 0(DX); VMOVUPD Y2, 32(DX); VMOVUPD Y3, 40(DX)
	VMOVSD X0, (DX)(CX*1)
	MOVQ a+0(FP), SI
line:
	CMPQ SI, DX
	JEQ next
	VBROADCASTSD (SI)(CX*1), Y4
	VUCOMISD X7, X4
	JNE take
	JPC next // a zero, and no NaN
take:
	VXORPD Y5, Y4, Y6
	VMULPD Y1, Y6, Y8
	VMULPD Y2, Y6, Y9
	VMULPD Y3, Y6, Y10
	VADDPD 0(SI), Y8, Y8
	VADDPD 32(SI), Y9, Y9
	VADDPD 40(SI), Y10, Y10
	VMOVUPD Y8, 0(SI); VMOVUPD Y9, 32(SI); VMOVUPD Y10, 40(SI)
	VMULSD X0, X4, X4
	VSUBSD X4, X7, X4
	VMOVSD X4, (SI)(CX*1)
next:
	ADDQ $72, SI
	CMPQ SI, DI
	JNE line
	ADDQ $72, DX
	ADDQ $8, CX
	CMPQ DX, DI
	JNE pivot
	VZEROUPPER
	RET
