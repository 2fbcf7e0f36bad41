// The words of the Cairn language.
//
// Newlines mean nothing; keywords and units of measure are reserved; the longest match wins, and of two equal
// matches the one written first. The last rules give wrong text a token of its own, so that it can be named.

lexer grammar CairnLexer;

Use : 'use' ;
Load : 'load' ;
For : 'for' ;
SpanWord : 'span' ;
To : 'to' ;
Let : 'let' ;
Mark : 'mark' ;
Note : 'note' ;
Send : 'send' ;
Now : 'now' ;
Bring : 'bring' ;
Withdraw : 'withdraw' ;
Do : 'do' ;
At : 'at' ;
About : 'about' ;
As : 'as' ;
After : 'after' ;
From : 'from' ;
Every : 'every' ;
Together : 'together' ;
Routine : 'routine' ;
Start : 'start' ;
End : 'end' ;
Of : 'of' ;
Window : 'window' ;
Opens : 'opens' ;
Closes : 'closes' ;
Rises : 'rises' ;
Falls : 'falls' ;
Above : 'above' ;
Below : 'below' ;
NumberWord : 'number' ;
In : 'in' ;
Repeat : 'repeat' ;
If : 'if' ;
Else : 'else' ;
And : 'and' ;
Or : 'or' ;
Not : 'not' ;
Is : 'is' ;
Require : 'require' ;
Rule : 'rule' ;
Expect : 'expect' ;
Within : 'within' ;
Waive : 'waive' ;
Because : 'because' ;
Until : 'until' ;
Never : 'never' ;
Always : 'always' ;
While : 'while' ;
Between : 'between' ;
Only : 'only' ;
Inside : 'inside' ;
Outside : 'outside' ;
Before : 'before' ;
No : 'no' ;
Once : 'once' ;
Lasts : 'lasts' ;
Apart : 'apart' ;
Followed : 'followed' ;
Command : 'command' ;
Time : 'time' ;
True : 'true' ;
False : 'false' ;

// Words that may be names too: they are words of the language only in their place.
Each : 'each' ;
Times : 'times' ;
Any : 'any' ;
More : 'more' ;
LessWord : 'less' ;
Than : 'than' ;
By : 'by' ;
Since : 'since' ;
First : 'first' ;
Last : 'last' ;
Reference : 'reference' ;

OpenBrace : '{' ;
CloseBrace : '}' ;
OpenParenthesis : '(' ;
CloseParenthesis : ')' ;
OpenBracket : '[' ;
CloseBracket : ']' ;
LessOrEqual : '<=' ;
Less : '<' ;
GreaterOrEqual : '>=' ;
Greater : '>' ;
Equals : '=' ;
Dot : '.' ;
Comma : ',' ;
Colon : ':' ;
Plus : '+' ;
Minus : '-' ;
Star : '*' ;
Slash : '/' ;

Unit
  : 'ns' | 'us' | 'ms' | 's' | 'min' | 'h' | 'd' | 'a'
  | 'W' | 'mW' | 'kW' | 'J' | 'kJ' | 'Wh' | 'kWh'
  | 'K' | 'degC' | 'deg' | 'rad' | 'deg/s'
  | 'm' | 'mm' | 'cm' | 'km' | 'm2' | 'm/s'
  | 'bit' | 'kbit' | 'Mbit' | 'byte' | 'kB' | 'bit/s' | 'kbit/s'
  | 'V' | 'mV' | 'A' | 'mA' | 'Hz' | 'kHz'
  | '%' | 'ppm' | 'J/K' | 'W/K' | 'W/m2'
  ;

Name : LETTER ( LETTER | DIGIT | '_' )* ( '-' ( LETTER | DIGIT | '_' )+ )* ;

// UTC: a calendar date or a day of the year, as in the ASCII time codes A and B of CCSDS 301.0-B-4.
Instant
  : DIGIT DIGIT DIGIT DIGIT '-' ( DIGIT DIGIT '-' DIGIT DIGIT | DIGIT DIGIT DIGIT )
    'T' DIGIT DIGIT ':' DIGIT DIGIT ':' DIGIT DIGIT ( '.' DIGIT+ )? 'Z'
  ;
BadInstant
  : DIGIT DIGIT DIGIT DIGIT '-' ( DIGIT DIGIT '-' DIGIT DIGIT | DIGIT DIGIT DIGIT 'T' ) ( LETTER | DIGIT | [:.+\-] )*
  ;

Number : DIGIT+ ( '.' DIGIT+ )? ( [eE] [+\-]? DIGIT+ )? ;

Text : '"' ( '\\' ~[\r\n] | ~["\\\r\n] )* '"' ;
UnclosedText : '"' ( '\\' ~[\r\n] | ~["\\\r\n] )* '\\'? ;

Comment : '#' ~[\r\n]* -> channel(HIDDEN) ;
Space : [ \t\r\n]+ -> skip ;
BadCharacter : . ;

fragment LETTER : [A-Za-z] ;
fragment DIGIT : [0-9] ;
