o<a> sub
o1 repeat [2]
G0 X#1
o1 endrepeat
o<a> endsub
#1=0
o2 while [#1 LT 3]
#1=[#1+1]
o3 if [#1 EQ 2]
o2 continue
o3 elseif [#1 EQ 9]
o2 break
o3 else
G0 Y1
o3 endif
o2 endwhile
o4 do
o<a> call [2]
o4 while [0]
M2
